//! What `faults` answers, and the files that it makes.

use crate::chart::Picture;
use crate::results::Faults;

/// Faults with their picture.
#[derive(Debug)]
pub struct FaultsResult {
    /// The answer.
    pub faults: Faults,
    /// Small multiples.
    pub pictures: Vec<(String, Picture)>,
}
