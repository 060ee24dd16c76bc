//! A floating or swing-arm hydrometer: specific gravity for its own pair of temperatures.
//!
//! # Equation
//! ```text
//! reading = ρ(S, t) [1 + γ (t − t1)] / ρ(0, t2)
//! ```
//! for a body of cubic expansion γ, calibrated in a sample at t1 against fresh water at t2. A keeper
//! who does not correct for the temperature takes the salinity whose SG(t1/t2) is the reading.
//!
//! # Source
//! Buoyancy; γ of soda-lime glass 25e-6/°C (ISO 387 and 649, from memory); of a plastic arm 2.1e-4/°C,
//! a usual value for acrylic (from memory).

use super::{Errors, Meter};
use crate::seawater::{
    Pair, RangeError, density, fresh_water_density, salinity_from_specific_gravity, specific_gravity,
};
use crate::units::{PracticalSalinity, SpecificGravity, Temperature};

/// What the body that floats is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Body {
    /// A floating glass.
    #[default]
    Glass,
    /// A plastic swing arm.
    PlasticArm,
}

impl Body {
    const fn expansion_per_celsius(self) -> f64 {
        match self {
            Self::Glass => 25e-6,
            Self::PlasticArm => 2.1e-4,
        }
    }
}

/// A hydrometer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hydrometer {
    /// The pair of temperatures of its scale.
    pub pair: Pair,
    /// What floats.
    pub body: Body,
    /// Whether the keeper corrects the reading for the water's temperature.
    pub corrected: bool,
    /// Its other errors.
    pub errors: Errors,
}

impl Hydrometer {
    /// The specific gravity on its stem in water of a true salinity.
    pub fn stem(&self, truth: PracticalSalinity, temperature: Temperature) -> Result<SpecificGravity, RangeError> {
        let warmer = temperature.celsius() - self.pair.sample.celsius();
        let buoyancy =
            density(self.errors.taken(truth), temperature)? * (1.0 + self.body.expansion_per_celsius() * warmer);
        Ok(SpecificGravity::from_ratio(buoyancy / fresh_water_density(self.pair.reference)?))
    }
}

impl Meter for Hydrometer {
    fn key(&self) -> &'static str {
        match self.body {
            Body::Glass => "hydrometer",
            Body::PlasticArm => "swing-arm",
        }
    }
    fn assumption(&self) -> String {
        let how =
            if self.corrected { "corrected for the water's temperature" } else { "not corrected for temperature" };
        format!("specific gravity on a {} scale, {how}", self.pair)
    }
    fn reading(&self, truth: PracticalSalinity, temperature: Temperature) -> Result<String, RangeError> {
        Ok(crate::seawater::shown(self.stem(truth, temperature)?, self.pair))
    }
    fn shows(&self, truth: PracticalSalinity, temperature: Temperature) -> Result<PracticalSalinity, RangeError> {
        if self.corrected {
            // A right correction leaves the other errors alone.
            specific_gravity(self.errors.taken(truth), self.pair)?;
            return Ok(self.errors.taken(truth));
        }
        salinity_from_specific_gravity(self.stem(truth, temperature)?, self.pair)
    }
    fn noise_psu(&self) -> f64 {
        self.errors.noise_psu
    }
    fn resolution_psu(&self) -> f64 {
        // half a division of 0.001 in specific gravity; 0.001 is 1.32 psu
        0.66
    }
}
