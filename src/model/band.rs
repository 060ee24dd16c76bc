//! The allowed range of a quantity.

use super::SoluteId;

/// What a band, a trigger or a reading is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Variable {
    /// Practical salinity \[psu\].
    Salinity,
    /// A solute.
    Solute(SoluteId),
}

/// An allowed range; either edge may be open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Of what.
    pub of: Variable,
    /// Lowest allowed value.
    pub low: Option<f64>,
    /// Highest allowed value.
    pub high: Option<f64>,
}

impl Band {
    /// How far `value` is outside: positive above, negative below, zero inside.
    #[must_use]
    pub fn excess(&self, value: f64) -> f64 {
        let above = self.high.map_or(0.0, |h| (value - h).max(0.0));
        let below = self.low.map_or(0.0, |l| (value - l).min(0.0));
        above + below
    }
}
