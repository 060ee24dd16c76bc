//! What `sweep` answers, and the files that it makes.

use crate::chart::Picture;
use crate::results::Sweep;

/// A sweep with its pictures.
#[derive(Debug)]
pub struct SweepResult {
    /// The table.
    pub sweep: Sweep,
    /// A picture a measure, with its file name.
    pub pictures: Vec<(String, Picture)>,
}
