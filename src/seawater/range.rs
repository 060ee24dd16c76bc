//! The published range of a property, and the answer outside it.

/// Where a formula may be used, and who says so.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ValidRange {
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
    pub range: ValidRange,
}

impl ValidRange {
    /// `value` itself where it is inside, the error where it is not (or is no number). What comes back from a
    /// conversion to the last digit beyond an edge is on it.
    pub fn check(self, value: f64) -> Result<f64, RangeError> {
        let rounding = 1e-13 * (self.high - self.low);
        if value >= self.low - rounding && value <= self.high + rounding {
            Ok(value.clamp(self.low, self.high))
        } else {
            Err(RangeError { value, range: self })
        }
    }
}
