//! What `log` answers.

use crate::app::UnderstoodColumn;
use crate::results::Warning;

/// The answer, and the JSON of `log`.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct LogCheckAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// The file.
    pub log: String,
    /// Name of the scenario that says which solutes there are.
    pub scenario: String,
    /// Separator, decimal mark and order of dates.
    pub form: String,
    /// Rows that were read.
    pub rows: usize,
    /// The first of them.
    pub first: String,
    /// The last of them.
    pub last: String,
    /// Readings of salinity.
    pub readings: usize,
    /// Its columns, as they were understood.
    pub columns: Vec<UnderstoodColumn>,
    /// The stretch over which a fit takes the mean of readings, where there are more than it can use \[h\].
    pub thinned_to_h: Option<f64>,
    /// Rows and cells that were left out, and why.
    pub left_out: Vec<String>,
    /// Readings that a calibration has moved.
    pub rebased: Vec<Rebased>,
    /// What the log does not say.
    pub warnings: Vec<Warning>,
}

/// A reading before and after a calibration.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Rebased {
    /// When.
    pub when: String,
    /// As it was read \[psu\].
    pub read_psu: f64,
    /// What it means \[psu\].
    pub psu: f64,
}

/// The answer with the log as this program writes it.
#[derive(Debug)]
pub struct LogCheckResult {
    /// The answer.
    pub answer: LogCheckAnswer,
    /// The log: CSV with the names and units of this program.
    pub table: Vec<u8>,
}
