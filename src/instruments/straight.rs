//! A meter that is off by a constant and by a slope.

use super::Meter;
use crate::units::PracticalSalinity;

/// `shown = bias + (1 + slope)·S`. The slope is one of salinity, not of specific gravity.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Straight {
    /// Constant error \[psu\].
    pub bias_psu: f64,
    /// Relative error of the slope \[1\].
    pub slope: f64,
    /// One standard deviation of a single reading \[psu\].
    pub noise_psu: f64,
}

impl Meter for Straight {
    fn shows(&self, truth: PracticalSalinity) -> PracticalSalinity {
        PracticalSalinity::from_psu(self.bias_psu + (1.0 + self.slope) * truth.psu())
    }
    fn truth(&self, shown: PracticalSalinity) -> PracticalSalinity {
        PracticalSalinity::from_psu((shown.psu() - self.bias_psu) / (1.0 + self.slope))
    }
    fn noise_psu(&self) -> f64 {
        self.noise_psu
    }
}
