//! A text that values come from: the file, or an override.

/// A text that values come from.
#[derive(Clone, Debug)]
pub(super) struct Source {
    pub(super) name: String,
    pub(super) text: String,
}
