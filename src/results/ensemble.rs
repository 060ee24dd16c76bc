//! What an ensemble comes to.

use super::Warning;

/// Quantiles by day and chances, over many members.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
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
    /// For how long each member ran, and every chance is \[d\].
    pub span_d: f64,
    /// Times of the grid \[d\].
    pub time_d: Vec<f64>,
    /// Members that still hold water at each time: a tank that is all but empty ends its run.
    pub holding: Vec<usize>,
    /// Salinity and each solute.
    pub quantities: Vec<EnsembleQuantity>,
    /// Each band.
    pub chances: Vec<BandChance>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
}

/// Quantiles of one quantity.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct EnsembleQuantity {
    /// `salinity` or the solute's key.
    pub key: String,
    /// Unit.
    pub unit: String,
    /// `[level][time]`, over the members that still hold water then; nothing where none does.
    pub quantiles: Vec<Vec<Option<f64>>>,
}

/// The chance that a band is left within the run.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
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

impl EnsembleQuantity {
    /// One level over the times of the ensemble, where any member still holds water.
    #[must_use]
    pub fn points(&self, level: usize, time_d: &[f64]) -> Vec<(f64, f64)> {
        let values = self.quantiles.get(level).into_iter().flatten();
        time_d.iter().zip(values).filter_map(|(t, v)| Some((*t, (*v)?))).collect()
    }
}
