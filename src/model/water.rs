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
    /// What a litre holds of each solute, however strong it is mixed \[mg/L or meq/L\].
    pub solutes: Listed<SoluteId, f64>,
    /// What each kilogram of its salt mix's salt brings of each solute besides \[mg/kg or meq/kg\]: this goes with
    /// its strength.
    pub per_salt_kg: Listed<SoluteId, f64>,
    /// Ions of what is dissolved in it besides, which count as salt \[kg/L\].
    pub ions_kg_per_l: f64,
}

impl Water {
    /// A water that holds these concentrations \[mg/L or meq/L\] however strong it is.
    #[must_use]
    pub fn new(
        name: &str,
        salinity: PracticalSalinity,
        temperature: Temperature,
        solutes: impl IntoIterator<Item = f64>,
    ) -> Self {
        let solutes: Listed<SoluteId, f64> = solutes.into_iter().collect();
        let per_salt_kg = solutes.iter().map(|_| 0.0).collect();
        Self {
            name: name.into(),
            salinity,
            mixed_by_meter: false,
            temperature,
            solutes,
            per_salt_kg,
            ions_kg_per_l: 0.0,
        }
    }

    /// The content of a litre at a true salinity.
    pub fn content(&self, basis: Basis, salinity: PracticalSalinity) -> Result<Amounts, RangeError> {
        let (water_kg, salt_kg) = basis.content(salinity, self.temperature)?;
        let solutes = self.solutes.iter().zip(&self.per_salt_kg).map(|(fixed, per_kg)| fixed + salt_kg * per_kg);
        Ok(Amounts::new(water_kg, salt_kg + self.ions_kg_per_l, solutes))
    }

    /// What a litre of it holds of a solute at the salinity that it is meant to have \[mg/L or meq/L\].
    pub fn concentration(&self, basis: Basis, solute: SoluteId) -> Result<f64, RangeError> {
        let (_, salt_kg) = basis.content(self.salinity, self.temperature)?;
        Ok(self.solutes[solute] + salt_kg * self.per_salt_kg[solute])
    }

    /// Lets a litre hold so much of a solute, however strong it is mixed \[mg/L or meq/L\].
    pub fn hold(&mut self, solute: SoluteId, concentration: f64) {
        (self.solutes[solute], self.per_salt_kg[solute]) = (concentration, 0.0);
    }
}
