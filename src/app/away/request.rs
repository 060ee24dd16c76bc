//! What `away` is asked.

use crate::study::Uncertainty;

/// What is asked for.
#[derive(Clone, Debug)]
pub struct AwayRequest {
    /// Days of absence.
    pub days: f64,
    /// What varies from day to day; evaporation by 25 % where nothing is said.
    pub uncertainty: Uncertainty,
    /// Members.
    pub members: u64,
    /// Seed.
    pub seed: u64,
}
