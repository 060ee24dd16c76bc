//! What may be wrong with a text that should be a quantity.

/// Largest number that is read. No aquarium needs one, and the product of any few of them stays a number.
pub const LARGEST: f64 = 1e15;

/// What is wrong with a text that should be a quantity.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ParseError {
    /// Nothing was given.
    #[error("the value is empty")]
    Empty,
    /// A decimal comma.
    #[error("`{text}` has a comma: write the decimal point, as in 1.5, and no thousands mark")]
    Comma {
        /// What was given.
        text: String,
    },
    /// No number at the start.
    #[error("`{text}` does not start with a number")]
    NoNumber {
        /// What was given.
        text: String,
    },
    /// Digits or a sign of another script or font.
    #[error("`{text}` does not start with a number in plain signs: write the digits 0 to 9, and - for a minus")]
    OtherSigns {
        /// What was given.
        text: String,
    },
    /// A number in two pieces.
    #[error("`{text}` is not one number: write 1000 without a gap or mark, and a half as 0.5")]
    TwoNumbers {
        /// What was given.
        text: String,
    },
    /// An infinity, or a number past the largest that is read.
    #[error("`{text}` is not a finite number of at most {LARGEST:e}")]
    NotFinite {
        /// What was given.
        text: String,
    },
    /// A number without its unit.
    #[error("the unit is missing: {what} is one of {allowed}")]
    NoUnit {
        /// The kind of quantity, with its article.
        what: &'static str,
        /// The units that would do.
        allowed: String,
    },
    /// A unit of another kind, or a typing error.
    #[error("`{unit}` is no unit of {what}: use one of {allowed}{}", nearest_hint(nearest.as_deref()))]
    UnknownUnit {
        /// What stood where the unit should be.
        unit: String,
        /// The kind of quantity, with its article.
        what: &'static str,
        /// The units that would do.
        allowed: String,
        /// The closest of them, where one is close.
        nearest: Option<String>,
    },
    /// A bare gallon in a file that does not say which.
    #[error(
        "`gal` alone may be 3.785 L (US) or 4.546 L (imperial): write `US gal` or `imp gal`, or state units = \"us\" or \"imperial\""
    )]
    WhichGallon,
}

fn nearest_hint(nearest: Option<&str>) -> String {
    nearest.map(|n| format!(" (nearest: `{n}`)")).unwrap_or_default()
}
