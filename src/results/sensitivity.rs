//! Which uncertain input matters most.

use super::Warning;

/// Indices and swings of every input, for every measure.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Sensitivity {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// Seed of the scrambling.
    pub seed: u32,
    /// Runs made.
    pub runs: usize,
    /// One a measure.
    pub measures: Vec<MeasureSensitivity>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
}

/// Indices and swings of one measure.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct MeasureSensitivity {
    /// The measure.
    pub measure: String,
    /// Its unit.
    pub unit: String,
    /// Its value with every input at its median.
    pub at_medians: f64,
    /// Its mean over the spreads.
    pub mean: f64,
    /// Its standard deviation over the spreads.
    pub deviation: f64,
    /// Every input, the one that matters most first.
    pub inputs: Vec<InputSensitivity>,
    /// What to do about it, in a sentence.
    pub advice: String,
}

/// What one input does.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct InputSensitivity {
    /// Key of the scenario.
    pub key: String,
    /// Its spread.
    pub spread: String,
    /// Share of the variance that knowing it alone would take away.
    pub first: f64,
    /// Half the width of the 95 % interval of that share.
    pub first_half_width: f64,
    /// Share that remains where all but this one are known.
    pub total: f64,
    /// Half the width of its 95 % interval.
    pub total_half_width: f64,
    /// The measure with this input at its 5 % quantile, the others at their medians.
    pub at_low: f64,
    /// The same at its 95 % quantile.
    pub at_high: f64,
}
