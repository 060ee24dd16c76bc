//! What `sensitivity` answers, and the files that it makes.

use crate::chart::Picture;
use crate::results::Sensitivity;

/// Indices with their pictures.
#[derive(Debug)]
pub struct SensitivityResult {
    /// The answer.
    pub sensitivity: Sensitivity,
    /// A picture a measure, with its file name.
    pub pictures: Vec<(String, Picture)>,
}
