//! What `recipe` answers, and the files that it makes.

use crate::chart::Picture;
use crate::results::Warning;

/// The answer, and the JSON of `recipe`.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct RecipeAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// Always `mass`.
    pub basis: String,
    /// The log.
    pub scenario: String,
    /// Batches used.
    pub batches: usize,
    /// Rows left out.
    pub left_out: Vec<String>,
    /// Grams of mix for a litre of fresh water and of finished water, for the salinity below.
    #[serde(rename = "grams_per_fresh_L")]
    pub grams_per_fresh_l: f64,
    /// See above.
    #[serde(rename = "grams_per_finished_L")]
    pub grams_per_finished_l: f64,
    /// Their relative standard error, and the scatter of a single batch.
    pub error: f64,
    /// See above.
    pub scatter: f64,
    /// Salinity \[psu\].
    pub salinity_psu: f64,
    /// Water in the mix.
    pub water_share: f64,
    /// Hours until clear: mean and largest.
    pub hours: Option<(f64, f64)>,
    /// pH: mean and standard deviation.
    pub ph: Option<(f64, f64)>,
    /// First batch of a new strength, from 1, by what share it is stronger, and the chance of that by chance.
    pub change: Option<(usize, f64, f64)>,
    /// The next batch: litres, mix in all and first dose \[kg\].
    pub next: (f64, f64, f64),
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
    /// Cautions for the work itself.
    pub cautions: Vec<String>,
}

/// The answer with its picture.
#[derive(Debug)]
pub struct RecipeResult {
    /// The answer.
    pub answer: RecipeAnswer,
    /// How the strength became known.
    pub pictures: Vec<(String, Picture)>,
}
