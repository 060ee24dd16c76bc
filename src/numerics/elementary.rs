//! Elementary functions that give the same bits on every machine.
//!
//! Those of the standard library are the system's, and the last bit of theirs hangs on the processor. The project's settings
//! for clippy refuse them.

/// Writes each function once: what it is, its name and its other argument, and which of the library it is.
macro_rules! elementary {
    ($($(#[$about:meta])* $name:ident($($other:ident)?) = $of:path;)*) => {
        /// Elementary functions of a number, by one library that goes with the program.
        pub trait Elementary: Sized {
            $($(#[$about])* #[must_use] fn $name(self $(, $other: f64)?) -> f64;)*
        }

        impl Elementary for f64 {
            $(fn $name(self $(, $other: f64)?) -> f64 { $of(self $(, $other)?) })*
        }
    };
}

elementary! {
    /// `e` to this power.
    to_exp() = libm::exp;
    /// `e` to this power, less one.
    to_exp_m1() = libm::expm1;
    /// 2 to this power.
    to_exp2() = libm::exp2;
    /// Natural logarithm.
    to_ln() = libm::log;
    /// Natural logarithm of this and one.
    to_ln_1p() = libm::log1p;
    /// Logarithm to the base 10.
    to_log10() = libm::log10;
    /// Logarithm to the base 2.
    to_log2() = libm::log2;
    /// This to a power.
    to_power(power) = libm::pow;
    /// Cube root.
    cube_root() = libm::cbrt;
    /// Sine of an angle \[rad\].
    sine() = libm::sin;
    /// Cosine of an angle \[rad\].
    cosine() = libm::cos;
    /// Angle \[rad\] of a point with this as its second coordinate.
    angle_with(first) = libm::atan2;
    /// Root of the sum of two squares.
    length_with(other) = libm::hypot;
}
