//! The published range of a property, and the answer outside it.

/// Where a formula may be used, and who says so.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// What is limited, with its unit: `salinity \[psu\]`.
    pub of: &'static str,
    /// Lowest value.
    pub low: f64,
    /// Highest value.
    pub high: f64,
    /// The property the range belongs to.
    pub property: &'static str,
    /// The publication that states it.
    pub source: &'static str,
}

/// An input outside the range in which its formula was measured.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("{} of {value} is outside {} to {}, where the {} holds ({})", range.of, range.low, range.high, range.property, range.source)]
pub struct RangeError {
    /// What was asked for.
    pub value: f64,
    /// What would be answered.
    pub range: Range,
}

impl Range {
    /// `value` itself where it is inside, the error where it is not (or is no number).
    pub fn check(self, value: f64) -> Result<f64, RangeError> {
        if value >= self.low && value <= self.high { Ok(value) } else { Err(RangeError { value, range: self }) }
    }
}
