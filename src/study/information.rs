//! What a reading taken before a choice is worth.
//!
//! # Equation
//! ```text
//! worth = C(prior) - E_y C(posterior given y)
//! ```
//! with `C` what the choice costs that one would make by some weights of the members. A reading `y` is drawn from a member, with its
//! error; the members are weighed anew by how likely it is in each, and the choice is made again: a nested expectation without
//! running a member twice.
//!
//! # Source
//! Raiffa & Schlaifer 1961, Applied Statistical Decision Theory, ch. 5 (expected value of sample information); the weighing as in
//! Strong, Oakley, Brennan & Breeze 2015, Med. Decis. Making 35:570-583, section on nested sampling.

use rayon::prelude::*;

/// What a reading is worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReadingWorth {
    /// What the choice costs without it.
    pub without: f64,
    /// What the choice costs with it, in the mean of what it may read.
    pub with: f64,
    /// Standard error of that, of the draws.
    pub error: f64,
}

impl ReadingWorth {
    /// What it saves.
    #[must_use]
    pub fn saves(&self) -> f64 {
        self.without - self.with
    }
}

/// The worth of a reading that would be `signal` in each member but for a normal error of `deviation`; `draws` are members and normal
/// deviations of errors. `cost` says what the choice costs that one makes by weights of the members, which sum to 1.
#[must_use]
pub fn worth_of_reading(
    signal: &[f64],
    deviation: &[f64],
    draws: &[(usize, f64)],
    cost: &(impl Fn(&[f64]) -> f64 + Sync),
) -> ReadingWorth {
    let n = signal.len();
    let without = cost(&vec![1.0 / n as f64; n]);
    let costs: Vec<f64> = draws
        .par_iter()
        .map(|(m, z)| {
            let read = signal[*m] + deviation[*m] * z;
            let weights: Vec<f64> =
                signal.iter().zip(deviation).map(|(s, d)| (-0.5 * ((read - s) / d).powi(2)).exp() / d).collect();
            let sum: f64 = weights.iter().sum();
            let weights: Vec<f64> = weights.iter().map(|w| w / sum).collect();
            cost(&weights)
        })
        .collect();
    let count = costs.len() as f64;
    let with = costs.iter().sum::<f64>() / count;
    let variance = costs.iter().map(|c| (c - with).powi(2)).sum::<f64>() / (count - 1.0).max(1.0);
    ReadingWorth { without, with, error: (variance / count).sqrt() }
}

#[cfg(test)]
mod tests {
    use super::worth_of_reading;
    use rand::SeedableRng;
    use rand::rngs::ChaCha8Rng;
    use rand_distr::{Distribution, StandardNormal};

    /// Two acts, one worth nothing and one worth `theta`, normal about 0.5 with a deviation of 1; a sample with an error of 0.8 leaves
    /// the mean of theta normal with `s = 1/sqrt(1 + 0.64)`, and is worth `s L(0.5/s)` with the unit normal loss integral
    /// `L(d) = phi(d) - d (1 - Phi(d))` (Raiffa & Schlaifer 1961, table of L; L(0.5) = 0.1978, L(1) = 0.08332, from memory).
    #[test]
    fn two_acts_are_those_of_the_textbook() {
        use statrs::distribution::{Continuous, ContinuousCDF, Normal};
        let bell = Normal::standard();
        let loss = |d: f64| bell.pdf(d) - d * bell.sf(d);
        assert!((loss(0.5) - 0.1978).abs() < 5e-5 && (loss(1.0) - 0.08332).abs() < 5e-6);
        let mut rng = ChaCha8Rng::seed_from_u64(4);
        let mut draw = || -> f64 { StandardNormal.sample(&mut rng) };
        let theta: Vec<f64> = (0..4000).map(|_| 0.5 + draw()).collect();
        let draws: Vec<(usize, f64)> = (0..4000).map(|m| (m, draw())).collect();
        let cost = |weights: &[f64]| {
            let mean: f64 = weights.iter().zip(&theta).map(|(w, t)| w * t).sum();
            -mean.max(0.0)
        };
        let worth = worth_of_reading(&theta, &vec![0.8; 4000], &draws, &cost);
        let s = 1.0 / (1.0f64 + 0.64).sqrt();
        let want = s * loss(0.5 / s);
        assert!((worth.saves() - want).abs() < 4.0 * worth.error, "{} for {want} ± {}", worth.saves(), worth.error);
        // What says nothing is worth nothing.
        let blind = worth_of_reading(&theta, &vec![1e6; 4000], &draws, &cost);
        assert!(blind.saves().abs() < 1e-6, "{}", blind.saves());
    }
}
