//! Run lengths of control charts: how long until a chart signals, for any path of the mean.
//!
//! A chart is a Markov chain on its own statistic (Brook & Evans 1972, Biometrika 59:539-549). Its
//! distribution is carried from reading to reading, so the mean may move as it likes.

use statrs::distribution::{ContinuousCDF, Normal};

/// A control chart on readings with a standard deviation of 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ControlChart {
    /// A single reading past a limit on either side.
    Single {
        /// The limit.
        limit: f64,
    },
    /// Exponentially weighted moving average.
    Ewma {
        /// Weight of the newest reading.
        weight: f64,
        /// The limit, in standard deviations of the average.
        limit: f64,
    },
    /// Cumulative sums on both sides.
    Cusum {
        /// What each reading must exceed to count.
        slack: f64,
        /// The limit.
        limit: f64,
    },
}

/// States of the chain on each side.
const STATES: usize = 60;
/// A chance to be in a state below which nobody is.
const NOBODY: f64 = 1e-15;

impl ControlChart {
    /// The chance that the chart has signalled by each reading, where reading `k` (from 1) has the mean
    /// `mean(k)`.
    #[must_use]
    pub fn signalled(&self, readings: usize, mean: impl Fn(usize) -> f64) -> Vec<f64> {
        match *self {
            Self::Single { limit } => {
                let bell = Normal::standard();
                let mut silent = 1.0;
                (1..=readings)
                    .map(|k| {
                        let m = mean(k);
                        silent *= bell.cdf(limit - m) - bell.cdf(-limit - m);
                        1.0 - silent
                    })
                    .collect()
            }
            Self::Ewma { weight, limit } => {
                let edge = limit * (weight / (2.0 - weight)).sqrt();
                let half = edge / (2 * STATES + 1) as f64;
                let centres: Vec<f64> = (0..=2 * STATES).map(|i| (2.0 * i as f64 + 1.0) * half - edge).collect();
                let bounds = |from: f64, to: f64| {
                    let at = |edge: f64| (edge - (1.0 - weight) * from) / weight;
                    (at(to - half), at(to + half))
                };
                silence(&centres, STATES, readings, &mean, bounds).into_iter().map(|s| 1.0 - s).collect()
            }
            Self::Cusum { slack, limit } => {
                let width = 2.0 * limit / (2 * STATES - 1) as f64;
                let centres: Vec<f64> = (0..STATES).map(|i| i as f64 * width).collect();
                let bounds = |from: f64, to: f64| {
                    let low = if to == 0.0 { f64::NEG_INFINITY } else { to - from - 0.5 * width + slack };
                    (low, to - from + 0.5 * width + slack)
                };
                let up = silence(&centres, 0, readings, &mean, bounds);
                let down = silence(&centres, 0, readings, &|k| -mean(k), bounds);
                // The two sides hardly ever signal together; as if they did not know of each other.
                up.into_iter().zip(down).map(|(a, b)| 1.0 - a * b).collect()
            }
        }
    }

    /// The mean number of readings until the chart signals, for a mean that stays at `shift`.
    #[must_use]
    pub fn run_length(&self, shift: f64) -> f64 {
        const LONGEST: usize = 400;
        let signalled = self.signalled(LONGEST, |_| shift);
        let silent: Vec<f64> = signalled.iter().map(|p| 1.0 - p).collect();
        let sum = 1.0 + silent.iter().sum::<f64>();
        // Past that the silence decays by the same share every reading.
        let (last, before) = (silent[LONGEST - 1], silent[LONGEST - 2]);
        if last <= 0.0 { sum } else { sum + last * (last / before) / (1.0 - last / before) }
    }
}

/// The chance of silence after each reading, for a chain that starts in state `start`.
fn silence(
    centres: &[f64],
    start: usize,
    readings: usize,
    mean: &impl Fn(usize) -> f64,
    bounds: impl Fn(f64, f64) -> (f64, f64),
) -> Vec<f64> {
    let bell = Normal::standard();
    let n = centres.len();
    let mut chance = vec![0.0; n];
    chance[start] = 1.0;
    // The moves from each state, worked out where one is in it, until the mean is another.
    let (mut at, mut moves) = (f64::NAN, vec![Vec::new(); n]);
    (1..=readings)
        .map(|k| {
            let m = mean(k);
            if at != m {
                (at, moves) = (m, vec![Vec::new(); n]);
            }
            let mut next = vec![0.0; n];
            for (i, p) in chance.iter().enumerate().filter(|(_, p)| **p > NOBODY) {
                if moves[i].is_empty() {
                    let share = |to: &f64| {
                        let (low, high) = bounds(centres[i], *to);
                        bell.cdf(high - m) - bell.cdf(low - m)
                    };
                    moves[i] = centres.iter().map(share).collect();
                }
                next.iter_mut().zip(&moves[i]).for_each(|(to, share)| *to += p * share);
            }
            chance = next;
            chance.iter().sum()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::ControlChart;

    /// Two-sided CUSUM, slack 1/2: average run lengths for limits 4 and 5 (Lucas & Crosier 1982, Technometrics
    /// 24:199-205; printed in Montgomery, Introduction to Statistical Quality Control; from memory). Taking the
    /// two sides apart is worth 1 %.
    #[test]
    fn cusum_has_its_published_run_lengths() {
        for (limit, table) in [
            (4.0, [(0.0, 168.0), (0.25, 74.2), (0.5, 26.6), (0.75, 13.3), (1.0, 8.38), (1.5, 4.75), (2.0, 3.34)]),
            (5.0, [(0.0, 465.0), (0.25, 139.0), (0.5, 38.0), (0.75, 17.0), (1.0, 10.4), (1.5, 5.75), (2.0, 4.01)]),
        ] {
            for (shift, want) in table {
                let got = ControlChart::Cusum { slack: 0.5, limit }.run_length(shift);
                assert!((got / want - 1.0).abs() < 0.015, "limit {limit} shift {shift}: {got} want {want}");
            }
        }
    }

    /// EWMA (Lucas & Saccucci 1990, Technometrics 32:1-12, from memory): weight 0.1 with limit 2.814 and weight
    /// 0.2 with limit 2.962, both about 500 readings between false alarms.
    #[test]
    fn ewma_has_its_published_run_lengths() {
        for (weight, limit, table) in [
            (0.1, 2.814, [(0.0, 500.0), (0.25, 106.0), (0.5, 31.3), (0.75, 15.9), (1.0, 10.3), (1.5, 6.09)]),
            (0.2, 2.962, [(0.0, 500.0), (0.25, 150.0), (0.5, 41.8), (0.75, 18.2), (1.0, 10.5), (1.5, 5.5)]),
        ] {
            for (shift, want) in table {
                let got = ControlChart::Ewma { weight, limit }.run_length(shift);
                assert!((got / want - 1.0).abs() < 0.012, "weight {weight} shift {shift}: {got} want {want}");
            }
        }
    }

    /// A single reading signals with a fixed chance p, so the mean run is 1/p: 3 sigma, 370.4.
    #[test]
    fn single_readings_are_geometric() {
        let got = ControlChart::Single { limit: 3.0 }.run_length(0.0);
        assert!((got / 370.398 - 1.0).abs() < 1e-5, "{got}");
    }
}
