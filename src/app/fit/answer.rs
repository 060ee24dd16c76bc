//! What `fit` answers, and the files that it makes.

use crate::chart::Picture;
use crate::results::Warning;

/// The answer, and the JSON of `fit`.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct FitAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// Seed.
    pub seed: u64,
    /// What was understood of the log.
    pub understood: String,
    /// Rows used.
    pub rows: usize,
    /// What was left out of the log.
    pub left_out: Vec<String>,
    /// Values.
    pub estimates: Vec<FitLine>,
    /// Correlations, in the order of the estimates.
    pub correlation: Vec<Vec<f64>>,
    /// Sum of squares over degrees of freedom.
    pub reduced: f64,
    /// What the log may be explained by, the most likely first; the values are those of the first.
    pub explanations: Vec<ExplanationLine>,
    /// Readings that do not fit: when, what, and by how many standard deviations.
    pub outliers: Vec<Outlier>,
    /// What the log cannot tell.
    pub open: Vec<String>,
    /// The wanted number with its standard deviation and unit.
    pub wanted: Option<Wanted>,
    /// Which measurement next, and by what share it narrows the variance of the wanted number.
    #[serde(serialize_with = "crate::results::labelled::narrows::list")]
    #[schemars(with = "Vec<crate::results::labelled::Narrows>")]
    pub next: Vec<(String, f64)>,
    /// Readings held out: how many, and the share within their 90 % intervals.
    pub held_out: usize,
    /// See above.
    pub coverage: Option<f64>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
}

/// A reading that does not fit.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Outlier {
    /// When.
    pub when: String,
    /// Of what.
    pub what: String,
    /// How far it is from the model, in standard deviations.
    pub deviations: f64,
}

/// An explanation of the log.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct ExplanationLine {
    /// What happened.
    pub what: String,
    /// When it began; empty where it has no day.
    pub since: String,
    /// Between when (90 %).
    pub between: String,
    /// Its weight among those that were tried, from 0 to 1.
    pub weight: f64,
    /// Its size with its 90 % interval and unit.
    pub size: Option<FitLine>,
}

/// One value.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct FitLine {
    /// What.
    pub what: String,
    /// Unit.
    pub unit: String,
    /// Value.
    pub value: f64,
    /// Ends of its 90 % interval.
    pub low: f64,
    /// See above.
    pub high: f64,
    /// Its deviation over that of what was assumed beforehand.
    pub left_open: f64,
}

/// The wanted number.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Wanted {
    /// The measure.
    pub measure: String,
    /// Its unit.
    pub unit: String,
    /// Its value.
    pub value: f64,
    /// Ends of its 90 % interval, by what the log leaves open; nothing where that cannot be worked out.
    pub low: Option<f64>,
    /// See above.
    pub high: Option<f64>,
    /// Its value as the scenario stood.
    pub before: Option<f64>,
}

/// A fit with pictures and the scenario that it makes.
#[derive(Debug)]
pub struct FitResult {
    /// The answer.
    pub answer: FitAnswer,
    /// Residuals, and the forecast of what was held out.
    pub pictures: Vec<(String, Picture)>,
    /// The scenario with fitted values and spreads.
    pub scenario: String,
    /// The same by other explanations that are likely too, each with its file name.
    pub others: Vec<(String, String)>,
}
