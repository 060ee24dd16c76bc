//! Elementary functions that give the same bits on every machine.
//!
//! Those of the standard library are the system's, and the last bit of theirs hangs on the processor. The project's settings
//! for clippy refuse them.

/// Elementary functions of a number, by one library that goes with the program.
pub trait Elementary {
    /// `e` to this power.
    #[must_use]
    fn to_exp(self) -> f64;
    /// `e` to this power, less one.
    #[must_use]
    fn to_exp_m1(self) -> f64;
    /// 2 to this power.
    #[must_use]
    fn to_exp2(self) -> f64;
    /// Natural logarithm.
    #[must_use]
    fn to_ln(self) -> f64;
    /// Natural logarithm of this and one.
    #[must_use]
    fn to_ln_1p(self) -> f64;
    /// Logarithm to the base 10.
    #[must_use]
    fn to_log10(self) -> f64;
    /// Logarithm to the base 2.
    #[must_use]
    fn to_log2(self) -> f64;
    /// This to a power.
    #[must_use]
    fn to_power(self, power: f64) -> f64;
    /// Cube root.
    #[must_use]
    fn cube_root(self) -> f64;
    /// Sine of an angle \[rad\].
    #[must_use]
    fn sine(self) -> f64;
    /// Cosine of an angle \[rad\].
    #[must_use]
    fn cosine(self) -> f64;
    /// Angle \[rad\] of a point with this as its second coordinate.
    #[must_use]
    fn angle_with(self, first: f64) -> f64;
    /// Root of the sum of two squares.
    #[must_use]
    fn length_with(self, other: f64) -> f64;
}

impl Elementary for f64 {
    fn to_exp(self) -> f64 {
        libm::exp(self)
    }
    fn to_exp_m1(self) -> f64 {
        libm::expm1(self)
    }
    fn to_exp2(self) -> f64 {
        libm::exp2(self)
    }
    fn to_ln(self) -> f64 {
        libm::log(self)
    }
    fn to_ln_1p(self) -> f64 {
        libm::log1p(self)
    }
    fn to_log10(self) -> f64 {
        libm::log10(self)
    }
    fn to_log2(self) -> f64 {
        libm::log2(self)
    }
    fn to_power(self, power: f64) -> f64 {
        libm::pow(self, power)
    }
    fn cube_root(self) -> f64 {
        libm::cbrt(self)
    }
    fn sine(self) -> f64 {
        libm::sin(self)
    }
    fn cosine(self) -> f64 {
        libm::cos(self)
    }
    fn angle_with(self, first: f64) -> f64 {
        libm::atan2(self, first)
    }
    fn length_with(self, other: f64) -> f64 {
        libm::hypot(self, other)
    }
}
