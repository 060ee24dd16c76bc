//! What counting says of a chance.

use statrs::distribution::{Beta, ContinuousCDF};

/// Half of a 90 % interval of the normal law, in standard deviations.
pub const NINETY: f64 = 1.644_854;

/// Doubt of a lower bound that is told: above the truth in no more than one of twenty checks.
pub const DOUBT: f64 = 0.05;

/// Standard error of a chance that was seen `seen` times `of` times: with one success and one failure added, so that
/// none seen is not taken for none possible (Agresti & Coull 1998, Am. Stat. 52:119, in its simplest form).
#[must_use]
pub fn chance_error(seen: usize, of: usize) -> f64 {
    let likely = (seen as f64 + 1.0) / (of as f64 + 2.0);
    (likely * (1.0 - likely) / of as f64).sqrt()
}

/// The least chance with which `seen` of `of` or more would still be seen with a probability of `doubt`: a lower bound that
/// is above the truth in no more than that share of all cases (Clopper & Pearson 1934, Biometrika 26:404-413).
#[must_use]
pub fn chance_at_least(seen: usize, of: usize, doubt: f64) -> f64 {
    if seen == 0 {
        return 0.0;
    }
    let missed = of.saturating_sub(seen);
    Beta::new(seen as f64, missed as f64 + 1.0).map_or(0.0, |law| law.inverse_cdf(doubt))
}

/// The upper bound likewise.
#[must_use]
pub fn chance_at_most(seen: usize, of: usize, doubt: f64) -> f64 {
    1.0 - chance_at_least(of.saturating_sub(seen), of, doubt)
}

#[cfg(test)]
mod tests {
    use super::{chance_at_least, chance_at_most};

    /// With all of n seen the bound is doubt^(1/n); of 20 patients with 1 to 19 hits the two-sided 95 % limits of the published
    /// tables (Clopper & Pearson 1934; as in Documenta Geigy, from memory): 1 of 20 is 0.13 to 24.87 %, 10 of 20 27.20 to 72.80 %.
    #[test]
    fn bounds_are_those_of_the_tables() {
        for n in [1usize, 10, 59, 400] {
            let closed = 0.05_f64.powf(1.0 / n as f64);
            assert!((chance_at_least(n, n, 0.05) - closed).abs() < 1e-9, "{n}");
            assert!((chance_at_most(0, n, 0.05) - (1.0 - closed)).abs() < 1e-9, "{n}");
        }
        for (seen, low, high) in [(1, 0.0013, 0.2487), (10, 0.2720, 0.7280)] {
            assert!((chance_at_least(seen, 20, 0.025) - low).abs() < 5e-5, "{}", chance_at_least(seen, 20, 0.025));
            assert!((chance_at_most(seen, 20, 0.025) - high).abs() < 5e-5, "{}", chance_at_most(seen, 20, 0.025));
        }
        assert_eq!((chance_at_least(0, 9, 0.05), chance_at_most(9, 9, 0.05)), (0.0, 1.0));
    }
}
