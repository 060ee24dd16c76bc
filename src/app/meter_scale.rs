//! The scale of the keeper's own meter, where it is not psu.

use crate::seawater::Scale;
use crate::units::{PracticalSalinity, Temperature, number_with_unit, significant};

/// A scale other than psu on which a keeper reads, and the temperature of the water.
#[derive(Clone, Copy, Debug)]
pub struct MeterScale {
    /// The scale.
    pub scale: Scale,
    /// Of the water.
    pub temperature: Temperature,
}

impl MeterScale {
    /// The scale on which a salinity was typed; nothing for psu.
    #[must_use]
    pub fn typed(text: &str, temperature: Temperature) -> Option<Self> {
        let scale = Scale::parse(number_with_unit(text).ok()?.1).ok()?;
        (scale != Scale::Practical).then_some(Self { scale, temperature })
    }

    /// What it reads; nothing where the scale does not reach so far.
    pub(super) fn reading(&self, psu: f64) -> Option<String> {
        let value = self.scale.value(PracticalSalinity::from_psu(psu), self.temperature).ok()?;
        Some(significant(value, 5))
    }

    /// The reading to stand behind one in psu, as in `, 1.0274 sg 25C/25C`.
    pub(super) fn beside(&self, psu: f64) -> String {
        self.reading(psu).map_or(String::new(), |reading| format!(", {reading} {}", self.scale.name()))
    }
}
