//! What `run` answers, and the files that it makes.

use crate::chart::Picture;
use crate::engine::Outcome;
use crate::results::Summary;

/// A run with its answer and pictures.
#[derive(Debug)]
pub struct RunResult {
    /// What was recorded.
    pub outcome: Outcome,
    /// The answer in numbers.
    pub summary: Summary,
    /// Pictures with their file names.
    pub pictures: Vec<(String, Picture)>,
}
