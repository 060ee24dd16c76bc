//! The regimes that keep every band, and what they take.

use super::{Warning, Way};
use crate::numerics::chance_at_most;

/// What a choice among regimes comes to.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Choice {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// Seed of chance.
    pub seed: u64,
    /// Keys that were tried.
    pub keys: Vec<String>,
    /// What should be least, and its unit.
    pub least: String,
    /// Unit of it, a year.
    pub unit: String,
    /// The chance that was asked for.
    pub chance: f64,
    /// The span for which the bands are to be kept \[d\].
    pub span_d: f64,
    /// What was uncertain.
    pub uncertain: Vec<String>,
    /// Members in each check by chance; none where nothing is uncertain.
    pub members: u64,
    /// The answer in a sentence.
    pub answer: String,
    /// The best regime: its place among the candidates.
    pub best: Option<usize>,
    /// The next best ones that keep the bands too.
    pub runners_up: Vec<usize>,
    /// What a tighter limit would take.
    pub marginal: Vec<Marginal>,
    /// What readings before the choice would save; none where it was not asked, or nothing is uncertain.
    pub worth: Vec<WorthOfReading>,
    /// Other tanks in which the regime holds too.
    pub also: Vec<String>,
    /// What holding there too takes more a year, in the unit of what should be least.
    pub price_of_all: Option<f64>,
    /// Where nothing does it: the nearest candidate.
    pub nearest: Option<usize>,
    /// Where nothing does it: what would.
    pub remedies: Vec<String>,
    /// The least plan with new water mixed so that the salinity settles in the middle of its band, where that takes
    /// clearly less, or nothing else does it.
    pub with_mix: Option<Way>,
    /// Every candidate.
    pub candidates: Vec<Candidate>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
}

/// One regime.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Candidate {
    /// Values of the keys, as they would be written.
    pub values: Vec<String>,
    /// Salt water \[L/year\].
    #[serde(rename = "litres_per_year")]
    pub litres: f64,
    /// Dry sea salt \[kg/year\].
    #[serde(rename = "salt_kg_per_year")]
    pub salt_kg: f64,
    /// Work \[min/year\].
    #[serde(rename = "minutes_per_year")]
    pub minutes: f64,
    /// Money a year, where a price is known.
    #[serde(rename = "cost_per_year")]
    pub cost: Option<f64>,
    /// Swing of salinity in the settled cycle \[psu\].
    pub swing_psu: f64,
    /// Largest use of a band: 1 at an edge.
    pub band_use: f64,
    /// Which band that is.
    pub tightest: String,
    /// Whether the settled cycle keeps every band.
    pub keeps: bool,
    /// Whether no other takes less and stays farther from its bands.
    pub on_front: bool,
    /// Chance to keep every band for the span, where it was worked out.
    pub chance: Option<KeptChance>,
    /// Why it could not be judged.
    pub failed: Option<String>,
}

impl KeptChance {
    /// An upper bound, below the truth with no more than a doubt.
    #[must_use]
    pub fn at_most(&self, doubt: f64) -> f64 {
        let count = usize::try_from(self.members).unwrap_or(usize::MAX);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of a count")]
        let kept = (self.value * self.members as f64).round() as usize;
        chance_at_most(kept, count, doubt)
    }
}

/// What a reading before the choice would save.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct WorthOfReading {
    /// What is read.
    pub what: String,
    /// What it saves a year, in the unit of what should be least.
    pub saves: f64,
    /// Standard error of that.
    pub error: f64,
}

/// A chance to keep every band, as it was counted.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct KeptChance {
    /// Share of the members that kept them.
    pub value: f64,
    /// Its standard error.
    pub error: f64,
    /// Lower bound: above the truth in no more than one of twenty such checks.
    pub at_least: f64,
    /// Members that were counted: those of the first look where that was enough.
    pub members: u64,
    /// Whether the bound, from members that had no part in finding the regime, is what was asked.
    pub enough: bool,
}

/// What a limit tightened by a tenth would take.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Marginal {
    /// `salinity` or the solute's key.
    pub key: String,
    /// The limit as it is.
    pub limit: f64,
    /// The limit tightened.
    pub tighter: f64,
    /// Its unit.
    pub unit: String,
    /// How much more the best regime then takes a year; nothing where no candidate keeps it.
    pub more: Option<f64>,
}
