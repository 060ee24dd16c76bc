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

use crate::numerics::Elementary;
use rayon::prelude::*;

/// What a reading saves that would be `signal` in each member but for a normal error of `deviation`: every member is read once, with
/// an error of `noise` deviations. `cost` says what the choice costs that one makes by weights of the members, which sum to 1.
///
/// Few members seem to save something by themselves, as a choice by some of them is a choice by their chance; that is what the same
/// readings of other members, which tell nothing, seem to save, and it is taken off.
#[must_use]
pub fn saved_by_reading(
    signal: &[f64],
    deviation: &[f64],
    noise: &[f64],
    cost: &(impl Fn(&[f64]) -> f64 + Sync),
) -> f64 {
    let [mut other, mut others_error] = [signal.to_vec(), deviation.to_vec()];
    other.rotate_left(signal.len() / 2);
    others_error.rotate_left(signal.len() / 2);
    cost_with(&other, &others_error, noise, cost) - cost_with(signal, deviation, noise, cost)
}

/// What the choice costs with a reading, in the mean of what it may read.
fn cost_with(signal: &[f64], deviation: &[f64], noise: &[f64], cost: &(impl Fn(&[f64]) -> f64 + Sync)) -> f64 {
    let of = |m: usize| {
        let read = signal[m] + deviation[m] * noise[m];
        let likely = signal.iter().zip(deviation).map(|(s, d)| (-0.5 * ((read - s) / d).powi(2)).to_exp() / d);
        let mut weights: Vec<f64> = likely.collect();
        let sum: f64 = weights.iter().sum();
        for w in &mut weights {
            *w /= sum;
        }
        cost(&weights)
    };
    // Summed in their order, so that threads change nothing.
    let costs: Vec<f64> = (0..signal.len()).into_par_iter().map(of).collect();
    costs.iter().sum::<f64>() / signal.len() as f64
}

#[cfg(test)]
mod tests {
    use super::saved_by_reading;
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
        let noise: Vec<f64> = (0..4000).map(|_| draw()).collect();
        let cost = |weights: &[f64]| {
            let mean: f64 = weights.iter().zip(&theta).map(|(w, t)| w * t).sum();
            -mean.max(0.0)
        };
        let s = 1.0 / (1.0f64 + 0.64).sqrt();
        let want = s * loss(0.5 / s);
        // Of 4,000 members the mean of what is saved is known to about 0.006.
        let saved = saved_by_reading(&theta, &vec![0.8; 4000], &noise, &cost);
        assert!((saved - want).abs() < 0.02, "{saved} for {want}");
        // What says nothing is worth nothing.
        let blind = saved_by_reading(&theta, &vec![1e6; 4000], &noise, &cost);
        assert!(blind.abs() < 1e-6, "{blind}");
    }
}
