//! What `now` answers.

use crate::chart::Picture;
use crate::results::Warning;

/// The answer, and the JSON of `now`.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct NowAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// Seed of the look ahead.
    pub seed: u64,
    /// Its members.
    pub members: u64,
    /// What was understood of the log.
    pub understood: String,
    /// Rows that were used.
    pub rows: usize,
    /// The moment that this is about.
    pub at: String,
    /// How the log was gone through: a filter, or a cloud of tanks where what is believed is no bell.
    pub by: String,
    /// The answer in a sentence.
    pub answer: String,
    /// Salinity and the solutes.
    pub quantities: Vec<NowQuantity>,
    /// How far it was looked ahead \[d\].
    pub ahead_d: f64,
    /// Readings that do not fit.
    pub misfits: Vec<Misfit>,
    /// The next thing to do, where something is scheduled.
    pub action: Option<NowAction>,
    /// What to read next, the best first.
    pub next: Vec<NextReading>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
    /// Cautions for the work itself.
    pub cautions: Vec<String>,
}

/// A quantity of the tank at a moment.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct NowQuantity {
    /// `salinity`, or the solute's key.
    pub key: String,
    /// Its unit.
    pub unit: String,
    /// The mean of what is believed.
    pub value: f64,
    /// Between which it lies with 50 %; nothing where it was never read.
    #[serde(serialize_with = "crate::results::labelled::range_option")]
    #[schemars(with = "Option<crate::results::labelled::LowHigh>")]
    pub half: Option<[f64; 2]>,
    /// Between which it lies with 90 %.
    #[serde(serialize_with = "crate::results::labelled::range_option")]
    #[schemars(with = "Option<crate::results::labelled::LowHigh>")]
    pub most: Option<[f64; 2]>,
    /// The last reading, and what it was worth.
    pub last: Option<LastReading>,
    /// When it leaves its band, where it has one.
    pub leaves: Option<Leaves>,
}

/// The last reading of a quantity.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct LastReading {
    /// When.
    pub when: String,
    /// The reading, as the meter showed it.
    pub read: f64,
    /// Half of the 90 % interval of the truth before it and after it.
    #[serde(serialize_with = "crate::results::labelled::before_after")]
    #[schemars(with = "crate::results::labelled::BeforeAfter")]
    pub narrowed: [f64; 2],
}

/// When a band is left.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Leaves {
    /// Chance that it is left already.
    pub now: f64,
    /// Chance that it is left within the look ahead.
    pub chance: f64,
    /// Days until it is left, in the middle of all members; nothing where fewer than half leave it.
    pub median_d: Option<f64>,
    /// Days before which one of twenty, and nineteen of twenty, have left it; nothing where they do not.
    pub between_d: [Option<f64>; 2],
}

/// A reading that does not fit.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Misfit {
    /// When.
    pub when: String,
    /// Of what.
    pub what: String,
    /// The unit.
    pub unit: String,
    /// The reading.
    pub read: f64,
    /// What was expected.
    pub expected: f64,
    /// How far it is off, in standard deviations.
    pub deviations: f64,
    /// What became of it.
    pub verdict: String,
}

/// The next thing to do.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct NowAction {
    /// When.
    pub when: String,
    /// Days until then.
    pub in_d: f64,
    /// How many changes are due then.
    pub changes: usize,
    /// Litres to change.
    #[serde(rename = "litres_L")]
    pub litres: f64,
    /// Salinity to mix to, and what it is named in the scenario \[psu\].
    pub mix_psu: f64,
    /// See above.
    pub named_psu: f64,
    /// Each quantity after it: key, unit, median, and 90 %.
    pub after: Vec<AfterIt>,
}

/// A quantity after the next thing is done.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct AfterIt {
    /// `salinity`, or the solute's key.
    pub key: String,
    /// Its unit.
    pub unit: String,
    /// Median.
    pub value: f64,
    /// Between which it lies with 90 %.
    #[serde(serialize_with = "crate::results::labelled::range")]
    #[schemars(with = "crate::results::labelled::LowHigh")]
    pub most: [f64; 2],
}

/// A reading that would be worth taking.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct NextReading {
    /// What to do.
    pub what: String,
    /// What it narrows, and its unit.
    pub of: String,
    /// See above.
    pub unit: String,
    /// Half of the 90 % interval now and after it.
    #[serde(serialize_with = "crate::results::labelled::before_after")]
    #[schemars(with = "crate::results::labelled::BeforeAfter")]
    pub narrowed: [f64; 2],
}

/// An answer with its pictures.
#[derive(Debug)]
pub struct NowResult {
    /// The answer.
    pub answer: NowAnswer,
    /// Past and future of each quantity.
    pub pictures: Vec<(String, Picture)>,
}
