//! A meter that is off by a constant and by a slope, whatever its principle.

use super::{Errors, Meter};
use crate::seawater::RangeError;
use crate::units::{PracticalSalinity, Temperature, trimmed};

/// Reads salinity with its [`Errors`] alone.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Straight(pub Errors);

impl Meter for Straight {
    fn key(&self) -> &'static str {
        "any"
    }
    fn assumption(&self) -> String {
        "shows salinity with a constant and a slope error only".into()
    }
    fn reading(&self, truth: PracticalSalinity, temperature: Temperature) -> Result<String, RangeError> {
        Ok(format!("{} psu", trimmed(self.shows(truth, temperature)?.psu(), 2)))
    }
    fn shows(&self, truth: PracticalSalinity, _: Temperature) -> Result<PracticalSalinity, RangeError> {
        Ok(self.0.taken(truth))
    }
    fn truth(&self, shown: PracticalSalinity, _: Temperature) -> Result<PracticalSalinity, RangeError> {
        Ok(PracticalSalinity::from_psu((shown.psu() - self.0.bias_psu) / (1.0 + self.0.slope)))
    }
    fn noise_psu(&self) -> f64 {
        self.0.noise_psu
    }
    fn resolution_psu(&self) -> f64 {
        0.1
    }
}
