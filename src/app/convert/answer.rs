//! What `convert` answers.

use crate::results::Warning;

/// The answer of `convert`.
#[derive(Clone, Debug, PartialEq)]
pub struct ConvertAnswer {
    /// What was asked, as it was typed.
    pub asked: String,
    /// The temperature, where the values depend on it.
    pub at: Option<String>,
    /// The JSON, with the values.
    pub data: ConvertData,
}

/// The JSON of `convert`.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
#[serde(untagged)]
pub enum ConvertData {
    /// The one value that was asked for.
    One {
        /// Version of the program.
        brinecast: String,
        /// The value with its unit.
        #[serde(flatten)]
        value: Converted,
        /// Warnings with advice.
        warnings: Vec<Warning>,
    },
    /// The value on every scale of its kind.
    All {
        /// Version of the program.
        brinecast: String,
        /// The temperature as it was given.
        temperature: String,
        /// A value a scale.
        values: Vec<Converted>,
        /// Warnings with advice.
        warnings: Vec<Warning>,
    },
}

impl ConvertAnswer {
    pub(super) fn new(asked: &str, values: Vec<Converted>, one: bool, temperature: &str, at: Option<String>) -> Self {
        let (brinecast, warnings) = (env!("CARGO_PKG_VERSION").to_owned(), Vec::new());
        let data = match values.first() {
            Some(first) if one => ConvertData::One { brinecast, value: first.clone(), warnings },
            _ => ConvertData::All { brinecast, temperature: temperature.to_owned(), values, warnings },
        };
        Self { asked: asked.to_owned(), at, data }
    }

    /// The values that were found.
    #[must_use]
    pub fn values(&self) -> &[Converted] {
        match &self.data {
            ConvertData::One { value, .. } => std::slice::from_ref(value),
            ConvertData::All { values, .. } => values,
        }
    }
}

/// A value on one scale.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct Converted {
    /// The number.
    pub value: f64,
    /// Its unit, with the pair of temperatures where there is one.
    pub unit: String,
    /// What the number is good for, where that matters.
    #[serde(skip)]
    pub note: &'static str,
}

impl Converted {
    pub(super) fn new(value: f64, unit: impl Into<String>) -> Self {
        Self { value, unit: unit.into(), note: "" }
    }
}
