//! The exponential integrals that the exact step is made of, accurate through zero.

use super::Elementary;

/// `(e^x − 1)/x`, equal to 1 at zero: the mean of `e^{xs}` over `s` in 0..1.
#[must_use]
pub fn exprel(x: f64) -> f64 {
    if x.abs() < 1e-8 { 1.0 + 0.5 * x } else { x.to_exp_m1() / x }
}

/// `(e^x − 1 − x)/x²`, equal to 1/2 at zero: the same mean taken twice.
#[must_use]
pub fn exprel2(x: f64) -> f64 {
    if x.abs() < 0.3 {
        // Taylor series: the difference above would lose digits. The last term is below 1e-17.
        let mut term = 0.5;
        let mut sum = 0.5;
        for n in 3..16 {
            term *= x / f64::from(n);
            sum += term;
        }
        sum
    } else {
        (x.to_exp_m1() - x) / (x * x)
    }
}

#[cfg(test)]
mod tests {
    use super::{exprel, exprel2};

    #[test]
    fn the_series_and_the_difference_meet() {
        for x in [-0.3_f64, 0.3] {
            let difference = (x.exp_m1() - x) / (x * x);
            let below = exprel2(x * (1.0 - 1e-12));
            assert!((difference - below).abs() < 1e-13, "{x}: {difference} {below}");
        }
        assert_eq!(exprel(0.0), 1.0);
        assert_eq!(exprel2(0.0), 0.5);
        assert!((exprel(1.0) - (std::f64::consts::E - 1.0)).abs() < 1e-15);
    }
}
