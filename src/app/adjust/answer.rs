//! What `adjust` answers.

use crate::results::Warning;

/// The answer, and the JSON of `adjust`.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct AdjustAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// Always `mass`.
    pub basis: String,
    /// Water in the vessel \[L\].
    #[serde(skip)]
    pub volume_l: f64,
    /// Salt mix to add \[kg\].
    pub salt_mix_kg: f64,
    /// Purified water to add \[L\].
    #[serde(rename = "fresh_water_L")]
    pub fresh_water_l: f64,
    /// Water to take out first \[L\].
    #[serde(rename = "remove_L")]
    pub remove_l: f64,
    /// What stands in the vessel then \[L\].
    #[serde(rename = "finished_L")]
    pub finished_l: f64,
    /// What the meter shows \[psu\].
    pub reads_psu: f64,
    /// What that means \[psu\].
    pub true_psu: f64,
    /// One standard deviation of that \[psu\].
    pub true_sd_psu: f64,
    /// What is wanted \[psu\].
    pub want_psu: f64,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
    /// Cautions for the work itself.
    #[serde(skip)]
    pub cautions: Vec<String>,
}
