//! The sections of a scenario, one file each.

mod bands;
mod calcification;
mod changes;
mod costs;
mod doses;
mod evaporation;
mod feed;
mod header;
mod losses;
mod mix;
mod periods;
mod products;
mod reading;
mod regime;
mod schedule;
mod series;
mod show;
mod solutes;
mod tank;
mod top_off;
mod uncertainty;
mod waters;

pub use schedule::{time_of_day, weekday};

pub(super) use bands::bands;
pub(super) use calcification::calcification;
pub(super) use costs::costs;
pub(super) use header::{Header, date, header};
pub(super) use mix::mix;
pub(super) use periods::{DeclaredFault, DeclaredPeriod, OF_A_PERIOD, faults, periods, span};
pub(super) use products::{Product, products};
pub(super) use regime::{read_again, regime};
pub(super) use schedule::schedule;
pub(super) use series::{DeclaredSeries, series};
pub(super) use show::show;
pub(super) use solutes::{number_again, solutes};
pub(super) use tank::{ph_of_air, tank};
pub(super) use uncertainty::{uncertainty, variants};
pub(super) use waters::waters;

use super::field::Field;
use super::reader::Section;
use crate::model::{Listed, SoluteId, Species, Tank};
use crate::seawater::parse_salinity;
use crate::units::{PracticalSalinity, Quantity, Temperature, Volume};

/// A salinity on any scale: psu, g/kg, mS/cm, or a specific gravity with its pair of temperatures.
fn salinity<'s, 'r>(
    section: &'s Section<'r>,
    key: &'static str,
    doc: &'static str,
    temperature: Temperature,
) -> Field<'s, 'r, PracticalSalinity, impl Fn(&str) -> Result<PracticalSalinity, String>> {
    section.value(key, doc, PracticalSalinity::WHAT, PracticalSalinity::EXAMPLE, move |t| {
        parse_salinity(t, temperature).map_err(|e| e.to_string())
    })
}

/// What later sections need of the earlier ones.
pub(super) struct Context<'a> {
    pub(super) header: &'a Header,
    pub(super) tank: Option<&'a Tank>,
    pub(super) species: &'a Listed<SoluteId, Species>,
    /// What each kilogram of salt of the mix brings of each solute, where the file says.
    pub(super) mix: &'a [Option<f64>],
    /// Products of the keeper's own.
    pub(super) products: &'a [Product],
    /// Calcium and magnesium that calcification takes out of the salt \[kg/d\].
    pub(super) laid_down_kg_per_d: f64,
}

impl Context<'_> {
    /// The operating volume; 1 L where the tank itself is wrong, so that reading can go on.
    pub(super) fn operating(&self) -> Volume {
        self.tank.map_or(Volume::from_litres(1.0), |t| t.operating)
    }

    /// What each kilogram of salt brings of a solute in a water that is like the tank, which holds `initial` of it.
    fn like_the_tank(&self, initial: f64) -> f64 {
        let tank = self.tank.and_then(|t| self.header.basis.content(t.salinity, t.temperature).ok());
        tank.filter(|content| content.1 > 0.0).map_or(0.0, |content| initial / content.1)
    }

    pub(super) fn solute(&self, key: &str) -> Option<SoluteId> {
        self.species.find(|s| s.solute.key == key)
    }
}
