//! Belief as a cloud of weighted states, where it is not normal or the state does not move in straight lines.
//!
//! # Source
//! Gordon, Salmond & Smith 1993, IEE Proc. F 140:107-113 (the filter); Kitagawa 1996, J. Comput. Graph. Stat. 5:1-25
//! (systematic resampling); Kong, Liu & Wong 1994, J. Am. Stat. Assoc. 89:278-288 (effective number).

use super::Elementary;
use rand::Rng;
use rand_distr::{Distribution, Uniform};

/// States with the logarithms of their weights.
#[derive(Clone, Debug)]
pub struct Particles<S> {
    /// The states.
    pub states: Vec<S>,
    log_weights: Vec<f64>,
}

impl<S: Clone> Particles<S> {
    /// States of equal weight.
    #[must_use]
    pub fn new(states: Vec<S>) -> Self {
        let log_weights = vec![0.0; states.len()];
        Self { states, log_weights }
    }

    /// Weighs the states by how likely a reading is in each, as logarithms in their order; nothing is impossible unless it is so
    /// in all.
    pub fn weigh(&mut self, log_likelihoods: impl IntoIterator<Item = f64>) {
        self.log_weights.iter_mut().zip(log_likelihoods).for_each(|(weight, likely)| *weight += likely);
    }

    /// Weights that sum to 1.
    #[must_use]
    pub fn weights(&self) -> Vec<f64> {
        let most = self.log_weights.iter().copied().filter(|w| !w.is_nan()).fold(f64::NEG_INFINITY, f64::max);
        let raw: Vec<f64> =
            self.log_weights.iter().map(|w| if w.is_nan() { 0.0 } else { (w - most).to_exp() }).collect();
        let sum: f64 = raw.iter().sum();
        if sum > 0.0 { raw.iter().map(|w| w / sum).collect() } else { vec![1.0 / raw.len() as f64; raw.len()] }
    }

    /// How many states of equal weight would know as much: `1/Σ w²`.
    #[must_use]
    pub fn effective(&self) -> f64 {
        1.0 / self.weights().iter().map(|w| w * w).sum::<f64>()
    }

    /// States of equal weight in the place of weighted ones, by equal steps from a random begin.
    pub fn resample(&mut self, rng: &mut impl Rng) {
        let weights = self.weights();
        let step = 1.0 / weights.len() as f64;
        let mut at = Uniform::new(0.0, step).map_or(0.0, |u| u.sample(rng));
        let (mut k, mut sum) = (0, weights[0]);
        let states = (0..weights.len()).map(|_| {
            while sum < at && k + 1 < weights.len() {
                k += 1;
                sum += weights[k];
            }
            at += step;
            self.states[k].clone()
        });
        self.states = states.collect();
        self.log_weights.fill(0.0);
    }

    /// The weighted mean of a number.
    #[must_use]
    pub fn mean(&self, of: impl Fn(&S) -> f64) -> f64 {
        self.weights().iter().zip(&self.states).map(|(w, s)| w * of(s)).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::Particles;
    use crate::numerics::Belief;
    use nalgebra::{DMatrix, DVector};
    use rand::SeedableRng;
    use rand::rngs::ChaCha8Rng;
    use rand_distr::{Distribution, StandardNormal};

    /// A level that wanders and is read: the cloud has the mean and the deviation of the closed filter at every reading, within what
    /// 20,000 states by chance leave.
    #[test]
    fn a_linear_case_is_the_closed_filter() {
        let mut rng = ChaCha8Rng::seed_from_u64(5);
        let mut draw = || -> f64 { StandardNormal.sample(&mut rng) };
        let (q, r) = (0.3f64, 1.0f64);
        let mut level = 0.0;
        let reads: Vec<f64> = (0..40)
            .map(|_| {
                level += q * draw();
                level + r * draw()
            })
            .collect();
        let one = DVector::from_element(1, 1.0);
        let mut belief = Belief { mean: DVector::from_element(1, 0.0), covariance: DMatrix::from_element(1, 1, 4.0) };
        let mut cloud = Particles::new((0..20_000).map(|_| 2.0 * draw()).collect::<Vec<f64>>());
        let mut other = ChaCha8Rng::seed_from_u64(6);
        for read in reads {
            let told = belief.innovation(&one, belief.mean[0], read, r * r);
            belief.take_in(&one, &told, r * r);
            let likely: Vec<f64> = cloud.states.iter().map(|x| -0.5 * ((read - x) / r).powi(2)).collect();
            cloud.weigh(likely);
            let mean = cloud.mean(|x| *x);
            let deviation = cloud.mean(|x| (x - mean).powi(2)).sqrt();
            let closed = belief.covariance[(0, 0)].sqrt();
            assert!((mean - belief.mean[0]).abs() < 0.06 * closed, "{mean} for {}", belief.mean[0]);
            assert!((deviation / closed - 1.0).abs() < 0.05, "{deviation} for {closed}");
            if cloud.effective() < 10_000.0 {
                cloud.resample(&mut other);
            }
            let mean = belief.mean.clone();
            belief.predict(mean, &DMatrix::identity(1, 1), &DMatrix::from_element(1, 1, q * q));
            for x in &mut cloud.states {
                let z: f64 = StandardNormal.sample(&mut other);
                *x += q * z;
            }
        }
    }

    /// Equal weights count in full, one that has all counts as one; what no state allows leaves them as they were.
    #[test]
    fn weights_and_numbers() {
        let mut cloud = Particles::new(vec![1.0, 2.0, 3.0, 4.0]);
        assert!((cloud.effective() - 4.0).abs() < 1e-12);
        cloud.weigh([-700.0, -700.0, 0.0, -700.0]);
        assert!((cloud.effective() - 1.0).abs() < 1e-12 && (cloud.mean(|x| *x) - 3.0).abs() < 1e-12);
        cloud.resample(&mut ChaCha8Rng::seed_from_u64(1));
        assert_eq!(cloud.states, vec![3.0; 4]);
        cloud.weigh([f64::NEG_INFINITY; 4]);
        assert!((cloud.weights().iter().sum::<f64>() - 1.0).abs() < 1e-12);
    }
}
