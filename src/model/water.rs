//! Named waters: purified, tap, new salt water.

use super::Basis;
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
    pub solutes: Vec<f64>,
}

/// What a litre of a water brings: water kg, salt kg, then the solutes.
#[derive(Clone, Debug, PartialEq)]
pub struct Content(pub Vec<f64>);

impl Water {
    /// The content of a litre at a true salinity.
    pub fn content(&self, basis: Basis, salinity: PracticalSalinity) -> Result<Content, RangeError> {
        let (water, salt) = basis.content(salinity, self.temperature)?;
        let mut amounts = vec![water, salt];
        amounts.extend_from_slice(&self.solutes);
        Ok(Content(amounts))
    }
}
