//! A conductivity meter: conductivity compensated to 25 °C, read as salinity.
//!
//! The common linear compensation of 2 %/°C is a little off for sea water (1.97 %/°C at 25 °C, less when
//! cold): a meter that uses it shows more than there is in cool water.

use super::{Errors, Meter};
use crate::seawater::{RangeError, conductivity, linearly_compensated, salinity_from_conductivity};
use crate::units::{PracticalSalinity, Temperature, trimmed};

/// How the meter brings a conductivity to 25 °C.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Compensation {
    /// By the practical salinity scale itself.
    #[default]
    SeaWater,
    /// By 2 %/°C.
    Linear,
    /// Not at all.
    None,
}

/// A conductivity meter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ConductivityMeter {
    /// How it compensates.
    pub compensation: Compensation,
    /// Its other errors: the cell constant is a slope.
    pub errors: Errors,
}

const STANDARD: Temperature = Temperature::from_celsius(25.0);

impl Meter for ConductivityMeter {
    fn key(&self) -> &'static str {
        "conductivity"
    }
    fn assumption(&self) -> String {
        match self.compensation {
            Compensation::SeaWater => "conductivity, compensated by the practical salinity scale".into(),
            Compensation::Linear => "conductivity, compensated to 25 °C by 2 %/°C".into(),
            Compensation::None => "conductivity, read as if the water were at 25 °C".into(),
        }
    }
    fn reading(&self, truth: PracticalSalinity, temperature: Temperature) -> Result<String, RangeError> {
        let at_25 = conductivity(self.shows(truth, temperature)?, STANDARD)?;
        Ok(format!("{} mS/cm at 25 °C", trimmed(at_25.ms_per_cm(), 2)))
    }
    fn shows(&self, truth: PracticalSalinity, temperature: Temperature) -> Result<PracticalSalinity, RangeError> {
        let taken = self.errors.taken(truth);
        match self.compensation {
            Compensation::SeaWater => Ok(taken),
            Compensation::Linear => {
                let at_25 = linearly_compensated(conductivity(taken, temperature)?, temperature);
                salinity_from_conductivity(at_25, STANDARD)
            }
            Compensation::None => salinity_from_conductivity(conductivity(taken, temperature)?, STANDARD),
        }
    }
    fn noise_psu(&self) -> f64 {
        self.errors.noise_psu
    }
    fn resolution_psu(&self) -> f64 {
        0.1
    }
}
