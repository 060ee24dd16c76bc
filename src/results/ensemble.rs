//! What an ensemble comes to.

use super::Warning;

/// Quantiles by day and chances, over many members.
#[derive(Clone, Debug, serde::Serialize)]
pub struct Ensemble {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// Seed of chance.
    pub seed: u64,
    /// First member, and one past the last.
    pub members: [u64; 2],
    /// What was uncertain, as given.
    pub spreads: Vec<String>,
    /// Levels of the quantiles.
    pub levels: Vec<f64>,
    /// Times of the grid \[d\].
    pub time_d: Vec<f64>,
    /// Salinity and each solute.
    pub quantities: Vec<EnsembleQuantity>,
    /// Each band.
    pub chances: Vec<BandChance>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
}

/// Quantiles of one quantity.
#[derive(Clone, Debug, serde::Serialize)]
pub struct EnsembleQuantity {
    /// `salinity` or the solute's key.
    pub key: String,
    /// Unit.
    pub unit: String,
    /// `[level][time]`.
    pub quantiles: Vec<Vec<f64>>,
}

/// The chance that a band is left within the run.
#[derive(Clone, Debug, serde::Serialize)]
pub struct BandChance {
    /// `salinity` or the solute's key.
    pub key: String,
    /// Share of the members that leave it.
    pub chance: f64,
    /// One standard error of that share, by the number of members.
    pub standard_error: f64,
    /// Median time of leaving among those that do \[d\].
    pub median_left_at_d: Option<f64>,
    /// Chance to have left it by each time of the grid.
    pub by_time: Vec<f64>,
}
