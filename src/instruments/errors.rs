//! The errors that every meter may have besides those of its kind.

use crate::units::PracticalSalinity;

/// Bias, slope and noise, on salinity: `shown = bias + (1 + slope)·S`, then noise.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Errors {
    /// What it shows too much \[psu\].
    pub bias_psu: f64,
    /// Relative error of its slope, on salinity \[1\].
    pub slope: f64,
    /// One standard deviation of a single reading \[psu\].
    pub noise_psu: f64,
}

impl Errors {
    /// A true salinity as a meter with these errors, and no others, would take it.
    #[must_use]
    pub fn taken(&self, truth: PracticalSalinity) -> PracticalSalinity {
        PracticalSalinity::from_psu(self.bias_psu + (1.0 + self.slope) * truth.psu())
    }
}
