//! A hand refractometer: cut for sea water or for sodium chloride brine.
//!
//! A brine scale reads the parts per thousand of the sodium chloride solution that has the index of the
//! water: 36.5 in sea water of 35 at 20 °C; sea water that reads 35 on it is really 33.6 (± 0.6).
//! Temperature compensation sets the reading back to 20 °C; without it the index is read as it is.

use super::{Errors, Meter};
use crate::seawater::{RangeError, brine_percent, refractive_index, salinity_from_refractive_index};
use crate::units::{PracticalSalinity, Temperature, trimmed};

/// What the scale was cut for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum RefractometerScale {
    /// Sea water.
    #[default]
    SeaWater,
    /// Sodium chloride in water.
    Brine,
}

/// A refractometer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Refractometer {
    /// What its scale was cut for.
    pub scale: RefractometerScale,
    /// Whether it compensates for temperature.
    pub compensated: bool,
    /// Its other errors: the zero is a bias.
    pub errors: Errors,
}

/// The temperature that the scale is cut for.
const SCALE_TEMPERATURE: Temperature = Temperature::from_celsius(20.0);

impl Meter for Refractometer {
    fn key(&self) -> &'static str {
        "refractometer"
    }
    fn assumption(&self) -> String {
        let cut = match self.scale {
            RefractometerScale::SeaWater => "sea water",
            RefractometerScale::Brine => "sodium chloride brine",
        };
        let how = if self.compensated { "temperature compensated" } else { "read at 20 °C or wrong" };
        format!("refractive index on a scale for {cut}, {how}")
    }
    fn reading(&self, truth: PracticalSalinity, temperature: Temperature) -> Result<String, RangeError> {
        Ok(format!("{} ppt", trimmed(self.shows(truth, temperature)?.psu(), 1)))
    }
    fn shows(&self, truth: PracticalSalinity, temperature: Temperature) -> Result<PracticalSalinity, RangeError> {
        let taken = self.errors.taken(truth);
        if self.compensated && self.scale == RefractometerScale::SeaWater {
            return Ok(taken);
        }
        let at = if self.compensated { SCALE_TEMPERATURE } else { temperature };
        let index = refractive_index(taken, at)?;
        match self.scale {
            RefractometerScale::Brine => Ok(PracticalSalinity::from_psu(10.0 * brine_percent(index)?)),
            RefractometerScale::SeaWater => salinity_from_refractive_index(index, SCALE_TEMPERATURE),
        }
    }
    fn noise_psu(&self) -> f64 {
        self.errors.noise_psu
    }
    fn resolution_psu(&self) -> f64 {
        0.5
    }
}
