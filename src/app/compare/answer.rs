//! What `compare` answers, and the files that it makes.

use crate::chart::Picture;
use crate::results::Comparison;

/// Variants side by side, with pictures.
#[derive(Debug)]
pub struct CompareResult {
    /// The table.
    pub comparison: Comparison,
    /// A picture a quantity, with its file name.
    pub pictures: Vec<(String, Picture)>,
}
