//! Staged dosing: under-dose, read, correct, so that the chance of overshooting stays below a level.
//!
//! The salinity after a total dose `D` (as a share of the nominal one) is `k D`, where the strength `k`
//! is known only with a spread. A reading shows `k D + b + noise`, with a meter bias `b` that stays the
//! same from reading to reading. Strength and bias are kept as a Gaussian pair and updated with each
//! reading (Kalman 1960, J. Basic Eng. 82:35-45). The total dose after round `n` is the one for which
//! `P(k D > target)`, given all readings so far, is that round's part of the accepted chance:
//! ```text
//! D = target/(k̂ + z_n s_k),      z_n the normal quantile of 1 − level/2ⁿ
//! ```
//! A dose can not be taken back, so the chances of the rounds add up: half the level is spent on the
//! first dose, a quarter on the second, and so on, and the whole stays below the level.

use nalgebra::{Matrix2, Vector2};
use statrs::distribution::{ContinuousCDF, Normal};

/// What is uncertain about dosing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DoseUncertainty {
    /// One standard deviation of the strength, relative.
    pub strength: f64,
    /// One standard deviation of a single reading \[psu\].
    pub noise_psu: f64,
    /// One standard deviation of the meter's bias \[psu\].
    pub bias_psu: f64,
    /// Accepted chance of overshooting the target.
    pub overshoot: f64,
    /// How far below the target is good enough \[psu\].
    pub tolerance_psu: f64,
}

/// Meters of keepers differ by some 0.3 psu, and read to 0.3 (common practice, no source).
impl Default for DoseUncertainty {
    fn default() -> Self {
        Self { strength: 0.03, noise_psu: 0.3, bias_psu: 0.3, overshoot: 0.05, tolerance_psu: 0.5 }
    }
}

/// Where a batch stands between two doses.
#[derive(Clone, Debug)]
pub struct DoseState {
    target_psu: f64,
    uncertainty: DoseUncertainty,
    /// Strength \[psu for the nominal dose\] and bias \[psu\].
    mean: Vector2<f64>,
    covariance: Matrix2<f64>,
    /// Dosed so far, as a share of the nominal dose.
    pub dosed: f64,
    rounds: i32,
}

/// What a batch will take, as far as can be told before it is begun.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StagedPlan {
    /// First dose as a share of the nominal one.
    pub first_share: f64,
    /// Salinity to expect after it \[psu\].
    pub expected_psu: f64,
    /// Doses to expect, the first one counted: no more than still raise the salinity.
    pub rounds: u32,
    /// Salinity to expect after the last of them \[psu\].
    pub last_psu: f64,
    /// Whether readings can narrow it to the tolerance at all.
    pub reaches_tolerance: bool,
}

/// Most rounds that anybody would go through.
const MOST_ROUNDS: u32 = 12;

/// A dose that raises the salinity by less is none \[psu\]: no meter of a keeper shows it (common practice, no source).
const LEAST_RISE_PSU: f64 = 0.05;

impl DoseState {
    /// Before the first dose for a target.
    #[must_use]
    pub fn new(target_psu: f64, uncertainty: DoseUncertainty) -> Self {
        let strength = (target_psu * uncertainty.strength).powi(2);
        Self {
            target_psu,
            uncertainty,
            mean: Vector2::new(target_psu, 0.0),
            covariance: Matrix2::new(strength, 0.0, 0.0, uncertainty.bias_psu.powi(2)),
            dosed: 0.0,
            rounds: 0,
        }
    }

    /// The normal quantile of the next round's part of the accepted chance.
    fn quantile(&self) -> f64 {
        let part = self.uncertainty.overshoot.clamp(1e-9, 0.5) / 2f64.powi(self.rounds + 1);
        Normal::standard().inverse_cdf(1.0 - part)
    }

    /// The next total dose as a share of the nominal one; never less than what is dosed already.
    #[must_use]
    pub fn next_total(&self) -> f64 {
        let spread = self.covariance[(0, 0)].max(0.0).sqrt();
        (self.target_psu / (self.mean[0] + self.quantile() * spread)).max(self.dosed)
    }

    /// Adds up to a total dose.
    pub fn dose_to(&mut self, total: f64) {
        self.dosed = self.dosed.max(total);
        self.rounds += 1;
    }

    /// Takes a reading \[psu\] into account.
    pub fn read(&mut self, shown_psu: f64) {
        let seen = Vector2::new(self.dosed, 1.0);
        let variance = (seen.transpose() * self.covariance * seen)[0] + self.uncertainty.noise_psu.powi(2);
        if variance <= 0.0 {
            return;
        }
        let gain = self.covariance * seen / variance;
        self.mean += gain * (shown_psu - seen.dot(&self.mean));
        self.covariance -= gain * seen.transpose() * self.covariance;
    }

    /// The salinity that is most likely there \[psu\].
    #[must_use]
    pub fn expected_psu(&self) -> f64 {
        self.mean[0] * self.dosed
    }

    /// Whether the salinity is within the tolerance of the target, as far as is known.
    #[must_use]
    pub fn done(&self) -> bool {
        self.dosed > 0.0 && self.target_psu - self.expected_psu() <= self.uncertainty.tolerance_psu
    }

    /// What to expect when every reading shows what is expected.
    #[must_use]
    pub fn plan(target_psu: f64, uncertainty: DoseUncertainty) -> StagedPlan {
        let mut state = Self::new(target_psu, uncertainty);
        let first_share = state.next_total();
        state.dose_to(first_share);
        let expected_psu = state.expected_psu();
        let mut rounds = 1;
        while !state.done() && rounds < MOST_ROUNDS {
            state.read(state.expected_psu() + state.mean[1]);
            let next = state.next_total();
            if (next - state.dosed) * state.mean[0] < LEAST_RISE_PSU {
                break;
            }
            state.dose_to(next);
            rounds += 1;
        }
        let last_psu = state.expected_psu();
        StagedPlan { first_share, expected_psu, rounds, last_psu, reaches_tolerance: state.done() }
    }
}
