//! What `drift` answers, and the files that it makes.

use crate::chart::Picture;
use crate::results::Warning;

/// How long each way of looking takes.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct DriftAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// The drift \[psu/month\].
    pub drift_psu_per_month: f64,
    /// Deviation of a single reading \[psu\].
    pub deviation_psu: f64,
    /// Days between readings.
    pub every_d: f64,
    /// Each way.
    pub ways: Vec<DriftWay>,
    /// Days until the book of the top-off used shows it, where the drift comes from a flow.
    pub book_keeping_d: Option<f64>,
    /// What the log says.
    pub log: Option<LogAnswer>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
}

/// One way of looking.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct DriftWay {
    /// Its name.
    pub name: String,
    /// Days until it is seen with a chance of 50 %.
    pub half_d: Option<f64>,
    /// With a chance of 90 %.
    pub nine_tenths_d: Option<f64>,
    /// Mean days between false alarms.
    pub false_alarm_d: Option<f64>,
}

/// A number with its standard error, and the chance of one as large by chance alone.
#[derive(Clone, Copy, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct TestedAnswer {
    /// The number.
    pub value: f64,
    /// Its standard error.
    pub error: f64,
    /// See above, from 0 to 1.
    pub by_chance: f64,
}

/// What a log of readings says.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct LogAnswer {
    /// What was understood of the file.
    pub understood: String,
    /// Readings used.
    pub readings: usize,
    /// Rows left out, each with its line and reason.
    pub left_out: Vec<String>,
    /// Deviation of a single reading \[psu\].
    pub deviation_psu: f64,
    /// Correlation of a reading with the next.
    pub correlation: f64,
    /// The mean less the target \[psu\].
    pub offset_psu: TestedAnswer,
    /// Slope of a straight line \[psu/month\].
    pub slope_psu_per_month: TestedAnswer,
    /// The largest jump \[psu\].
    pub jump_psu: TestedAnswer,
    /// When that is: days from the first reading.
    pub jump_d: f64,
    /// Whether the readings drift or have jumped, with 5 % false alarms.
    pub moves: bool,
    /// Whether their mean is off the target, with 5 % false alarms.
    pub is_off: bool,
    /// In a sentence.
    pub verdict: String,
}

/// The answer with the picture of the log.
#[derive(Debug)]
pub struct DriftResult {
    /// The answer.
    pub drift: DriftAnswer,
    /// The log with its limits.
    pub pictures: Vec<(String, Picture)>,
}
