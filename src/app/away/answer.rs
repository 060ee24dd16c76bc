//! What `away` answers, and the files that it makes.

use crate::chart::Picture;
use crate::results::Warning;

/// The answer, and the JSON of `away`.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct AwayAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// Seed.
    pub seed: u64,
    /// Members.
    pub members: u64,
    /// Days of absence.
    pub days: f64,
    /// What was uncertain.
    pub uncertain: Vec<String>,
    /// The answer in a sentence.
    pub answer: String,
    /// Whether it may be left: whether anything happens with a chance of a tenth at most.
    pub safe: bool,
    /// Each thing that may happen.
    pub events: Vec<AwayEvent>,
    /// What could be changed before leaving, each worked out.
    pub remedies: Vec<AwayRemedy>,
    /// The reservoir: litres, sure days with 90 %, worst fall of salinity if its valve sticks, spill.
    pub reservoirs: Vec<ReservoirLine>,
    /// The size that is recommended, with its reason.
    pub recommended: String,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
    /// Cautions for the work itself.
    pub cautions: Vec<String>,
}

/// Something that may happen while nobody is there.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct AwayEvent {
    /// What.
    pub what: String,
    /// Chance that it happens before the keeper is back.
    pub chance: f64,
    /// Days for which it is sure not to, with 50, 90 and 99 %; nothing where longer than was looked at.
    pub sure_d: Vec<Option<f64>>,
    /// Chance by each day, from the first on.
    pub by_day: Vec<f64>,
}

/// A thing to do before leaving.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct AwayRemedy {
    /// What.
    pub what: String,
    /// Chance that anything happens before the keeper is back, with it.
    pub chance: f64,
}

/// A size of the reservoir.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct ReservoirLine {
    /// Litres.
    #[serde(rename = "litres_L")]
    pub litres: f64,
    /// Days that it lasts with 90 %; nothing where longer than was looked at.
    pub lasts_d: Option<f64>,
    /// Worst fall of salinity if the valve sticks open \[psu\].
    pub fall_psu: f64,
    /// Litres that then run over the rim.
    #[serde(rename = "spill_L")]
    pub spill_l: f64,
}

/// An answer with its pictures.
#[derive(Debug)]
pub struct AwayResult {
    /// The answer.
    pub answer: AwayAnswer,
    /// Chances by day, and the reservoir's trade-off.
    pub pictures: Vec<(String, Picture)>,
}
