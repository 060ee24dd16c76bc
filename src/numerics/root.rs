//! Bracketed root finding.

use super::Elementary;

/// Why no root was found.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum RootError {
    /// The function has the same sign at both ends.
    #[error("no change of sign between {low} and {high}")]
    NotBracketed {
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
    },
    /// The function gave no number.
    #[error("the function is not a number at {at}")]
    NotANumber {
        /// Where.
        at: f64,
    },
}

/// The root of `f` between `low` and `high` to within `tolerance` in its argument.
///
/// The method ITP keeps the bracket and needs at most one evaluation more than bisection.
///
/// # Source
/// Oliveira & Takahashi 2020, ACM Trans. Math. Softw. 47(1), article 5 (κ₂ = 2, n₀ = 1).
pub fn find_root(f: impl Fn(f64) -> f64, low: f64, high: f64, tolerance: f64) -> Result<f64, RootError> {
    let (mut a, mut b) = (low, high);
    let (mut ya, mut yb) = (f(a), f(b));
    for (y, at) in [(ya, a), (yb, b)] {
        if y.is_nan() {
            return Err(RootError::NotANumber { at });
        }
        if y == 0.0 {
            return Ok(at);
        }
    }
    if ya.signum() == yb.signum() {
        return Err(RootError::NotBracketed { low, high });
    }
    let rising = yb.signum();
    let epsilon = tolerance.max(f64::EPSILON * low.abs().max(high.abs()));
    let k1 = 0.2 / (b - a);
    let steps = ((b - a) / (2.0 * epsilon)).to_log2().ceil().max(0.0) + 1.0;
    let (mut j, mut room) = (0, epsilon * steps.to_exp2());
    while b - a > 2.0 * epsilon {
        let middle = 0.5 * (a + b);
        let radius = room - 0.5 * (b - a);
        let secant = (yb * a - ya * b) / (yb - ya);
        // Values near the largest f64 overflow here: then the middle serves.
        let falsi = if secant.is_finite() { secant } else { middle };
        let toward = (middle - falsi).signum();
        let truncated =
            if k1 * (b - a).powi(2) <= (middle - falsi).abs() { falsi + toward * k1 * (b - a).powi(2) } else { middle };
        let x = if (truncated - middle).abs() <= radius { truncated } else { middle - toward * radius };
        let y = f(x);
        if y.is_nan() {
            return Err(RootError::NotANumber { at: x });
        }
        if y * rising > 0.0 {
            (b, yb) = (x, y);
        } else if y * rising < 0.0 {
            (a, ya) = (x, y);
        } else {
            return Ok(x);
        }
        room *= 0.5;
        j += 1;
        if j > 300 {
            break;
        }
    }
    Ok(0.5 * (a + b))
}

#[cfg(test)]
mod tests {
    use super::{RootError, find_root};

    #[test]
    fn finds_the_root_of_a_cubic_and_of_a_steep_exponential() {
        let root = find_root(|x| x * x * x - x - 2.0, 1.0, 2.0, 1e-14);
        assert!((root.unwrap_or(0.0) - 1.5213797068045676).abs() < 1e-13);
        let root = find_root(|x| 1e-3 - (-30.0 * x).exp(), 0.0, 10.0, 1e-15);
        assert!((root.unwrap_or(0.0) - 1000f64.ln() / 30.0).abs() < 1e-14);
    }

    #[test]
    fn values_that_overflow_do_not_mislead_it() {
        let steep = |x: f64| {
            if x < 1.25 {
                f64::MIN
            } else if x > 1.5 {
                f64::MAX
            } else {
                x - 1.375
            }
        };
        assert!((find_root(steep, 0.0, 4.0, 1e-12).unwrap_or(0.0) - 1.375).abs() < 1e-9);
    }

    #[test]
    fn says_when_there_is_none() {
        assert_eq!(find_root(|x| x * x + 1.0, -1.0, 1.0, 1e-9), Err(RootError::NotBracketed { low: -1.0, high: 1.0 }));
    }
}
