//! What `ensemble` is asked.

use crate::study::Uncertainty;

/// What is uncertain and how much is spent on it.
#[derive(Clone, Debug)]
pub struct EnsembleRequest {
    /// What is uncertain.
    pub uncertainty: Uncertainty,
    /// Seed.
    pub seed: u64,
    /// First member, and one past the last.
    pub members: std::ops::Range<u64>,
    /// Members are added until the standard error of every chance is below this.
    pub until_error: Option<f64>,
}
