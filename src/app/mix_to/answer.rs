//! What `mix-to` answers, and the files that it makes.

use crate::app::MeterScale;
use crate::results::Warning;

/// One quantity of the answer.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct MixToLine {
    /// `salinity` or `alkalinity`.
    pub key: String,
    /// Unit of the numbers.
    pub unit: String,
    /// Settled mean that is wanted.
    pub target: f64,
    /// What to mix to.
    pub mix_to: f64,
    /// Where the tank settles with new water at the target.
    pub settles_at_target: f64,
    /// Where it settles with the scenario's new water.
    pub settles_as_is: f64,
    /// What the mix brings of it at the salinity to mix to, for what is part of the mix.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mix_brings: Option<f64>,
    /// Grams of `NaHCO3` for a litre of new water that make up the rest, for alkalinity.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub soda_g_per_l: Option<f64>,
}

/// The JSON of `mix-to`.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct MixToAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// The water that is mixed.
    pub water: String,
    /// Salinity, and alkalinity where it is tracked.
    pub lines: Vec<MixToLine>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
    /// Cautions for the work itself.
    #[serde(skip)]
    pub cautions: Vec<String>,
    /// The scale of the keeper's own meter, for the words.
    #[serde(skip)]
    pub meter: Option<MeterScale>,
}
