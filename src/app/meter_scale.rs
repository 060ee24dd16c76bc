//! The scale of the keeper's own meter, where it is not psu.

use crate::seawater::Scale;
use crate::solutes::View;
use crate::units::{Temperature, number_with_unit};

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

    /// A view on this scale.
    pub(super) fn view(&self, view: View) -> View {
        view.with_salinity(self.scale, self.temperature)
    }
}
