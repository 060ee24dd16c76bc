//! Named waters: purified, tap, new salt water.

use super::{Amounts, Basis, Listed, SoluteId};
use crate::seawater::RangeError;
use crate::units::{PracticalSalinity, Temperature};

/// A water of known composition.
#[derive(Clone, Debug, PartialEq)]
pub struct Water {
    /// Its name in the scenario.
    pub name: String,
    /// The salinity it is meant to have.
    pub salinity: PracticalSalinity,
    /// Whether it is mixed to the keeper's meter, and so carries the meter's error.
    pub mixed_by_meter: bool,
    /// The temperature at which its litres are measured.
    pub temperature: Temperature,
    /// Concentration of each solute \[mg/L or meq/L\].
    pub solutes: Listed<SoluteId, f64>,
}

impl Water {
    /// The content of a litre at a true salinity.
    pub fn content(&self, basis: Basis, salinity: PracticalSalinity) -> Result<Amounts, RangeError> {
        let (water_kg, salt_kg) = basis.content(salinity, self.temperature)?;
        Ok(Amounts::new(water_kg, salt_kg, self.solutes.iter().copied()))
    }
}
