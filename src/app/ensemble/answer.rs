//! What `ensemble` answers, and the files that it makes.

use crate::chart::Picture;
use crate::results::Ensemble;

/// An ensemble with its pictures.
#[derive(Debug)]
pub struct EnsembleResult {
    /// The answer.
    pub ensemble: Ensemble,
    /// A fan a quantity, with its file name.
    pub pictures: Vec<(String, Picture)>,
}
