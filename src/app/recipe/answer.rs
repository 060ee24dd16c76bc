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
    #[serde(serialize_with = "crate::results::labelled::mean_most::option")]
    #[schemars(with = "Option<crate::results::labelled::MeanMost>")]
    pub hours: Option<(f64, f64)>,
    /// pH: mean and standard deviation.
    #[serde(serialize_with = "crate::results::labelled::mean_deviation::option")]
    #[schemars(with = "Option<crate::results::labelled::MeanDeviation>")]
    pub ph: Option<(f64, f64)>,
    /// Where the mix has another strength.
    pub change: Option<StrengthChange>,
    /// The next batch.
    pub next: NextBatch,
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

/// Another strength of the mix from a batch on.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct StrengthChange {
    /// The first batch of it, from 1.
    pub batch: usize,
    /// By what share it is stronger; negative where it is weaker.
    pub stronger: f64,
    /// The chance of such a difference by chance alone.
    pub by_chance: f64,
}

/// What to weigh out for the next batch.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct NextBatch {
    /// Finished water \[L\].
    #[serde(rename = "finished_L")]
    pub finished_l: f64,
    /// Salt mix in all \[kg\].
    pub salt_mix_kg: f64,
    /// Of that the first dose \[kg\].
    pub first_dose_kg: f64,
}
