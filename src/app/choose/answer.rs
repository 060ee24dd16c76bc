//! What `choose` answers, and the files that it makes.

use crate::chart::Picture;
use crate::results::Choice;

/// A choice with its picture.
#[derive(Debug)]
pub struct ChooseResult {
    /// The answer.
    pub choice: Choice,
    /// The trade-off.
    pub pictures: Vec<(String, Picture)>,
}
