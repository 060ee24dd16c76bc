//! What `list` and `keys` answer.

use crate::scenario::KeyInfo;

/// One list or several.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct ListAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// The lists.
    pub lists: Vec<Listed>,
}

/// What there is of one kind.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Listed {
    /// `scenarios`, `faults` ...
    pub kind: String,
    /// Its members.
    pub lines: Vec<ListLine>,
}

/// Something that has a name.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct ListLine {
    /// The name to type.
    pub name: String,
    /// What it is.
    pub what: String,
}

/// Keys of files.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct KeysAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// The word that was looked for.
    pub word: Option<String>,
    /// The keys.
    pub keys: Vec<KeyAnswer>,
}

/// A key.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct KeyAnswer {
    /// Dotted, with `NAME` for a name of the user's own.
    pub key: String,
    /// What it means.
    pub means: String,
    /// The kind of value.
    pub kind: String,
    /// What is taken where it is left out.
    pub default: Option<String>,
    /// A value as one would type it.
    pub example: String,
}

impl From<KeyInfo> for KeyAnswer {
    fn from(key: KeyInfo) -> Self {
        Self { key: key.path, means: key.doc.to_owned(), kind: key.kind, default: key.default, example: key.example }
    }
}
