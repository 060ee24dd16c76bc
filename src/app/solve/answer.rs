//! What `solve` answers, and the files that it makes.

use crate::chart::Picture;
use crate::results::Warning;

/// The answer, and the JSON of `solve`.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct SolveAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// The key, and the unit of its values.
    pub key: String,
    /// See above.
    pub key_unit: String,
    /// What is to be so, as it was asked.
    pub goal: String,
    /// What is measured for it, and the unit in which it is counted here.
    pub measure: String,
    /// See above.
    pub measure_unit: String,
    /// The value that is to be met; 100 % where bands are to be kept.
    pub target: f64,
    /// The answer in a sentence.
    pub answer: String,
    /// Values of the key at which it is so, each with what is measured there.
    pub met: Vec<SolvedValue>,
    /// Values at which the measure jumps over the target.
    pub jumps: Vec<SolvedValue>,
    /// Ranges of the key in which the bands are kept.
    #[serde(serialize_with = "crate::results::labelled::ranges")]
    #[schemars(with = "Vec<crate::results::labelled::LowHigh>")]
    pub kept: Vec<[f64; 2]>,
    /// What was looked at: values of the key, and what is measured there.
    #[serde(serialize_with = "crate::results::labelled::measured::list")]
    #[schemars(with = "Vec<crate::results::labelled::Measured>")]
    pub points: Vec<(f64, Option<f64>)>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
}

/// A value of the key.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct SolvedValue {
    /// The value.
    pub value: f64,
    /// As it is written after `--set KEY=`: rounded, and on the side on which bands are kept.
    pub written: String,
    /// The bracket in which it was found.
    #[serde(serialize_with = "crate::results::labelled::range")]
    #[schemars(with = "crate::results::labelled::LowHigh")]
    pub between: [f64; 2],
    /// What is measured at the value.
    pub measured: f64,
    /// What is measured at the value as it is written.
    pub as_written: Option<f64>,
    /// By how much the measure moves for a hundredth more of the value.
    pub for_a_percent_more: Option<f64>,
}

/// An answer with its picture.
#[derive(Debug)]
pub struct SolveResult {
    /// The answer.
    pub answer: SolveAnswer,
    /// The measure over the key.
    pub pictures: Vec<(String, Picture)>,
}

impl SolveResult {
    /// The table of what was looked at.
    pub(super) fn csv(&self) -> String {
        let a = &self.answer;
        let mut text = format!("{},{}\n", a.key.replace('.', "_"), a.measure.replace(['.', ' '], "_"));
        for (x, y) in &a.points {
            text += &format!("{x},{}\n", y.map_or(String::new(), |y| y.to_string()));
        }
        text
    }
}
