//! `[mix]`: what the keeper's salt mix holds, at a reference salinity. It is a property of the salt: a weaker batch holds
//! less of it.

use super::{Header, salinity};
use crate::model::{Listed, SoluteId, Species};
use crate::scenario::reader::Section;
use crate::solutes::parse_concentration;
use crate::units::Temperature;

/// What each kilogram of salt of the mix brings of each solute \[mg/kg or meq/kg\]; nothing where the file does not say.
pub(in crate::scenario) fn mix(
    section: &Section<'_>,
    header: &Header,
    species: &Listed<SoluteId, Species>,
) -> Vec<Option<f64>> {
    let temperature = section
        .quantity::<Temperature>("temperature", "Temperature at which the litres of its table are measured.")
        .between(0.0, 40.0)
        .or("25 C")
        .unwrap_or_default();
    let reference = salinity(section, "salinity", "Salinity at which the table of the mix holds.", temperature)
        .check("2 to 42 psu", |s| (2.0..=42.0).contains(&s.psu()));
    // A table without its salinity says nothing of the salt.
    let reference =
        if section.is_given() || section.reader.describing { reference.required() } else { reference.optional() };
    let salt_kg = reference.and_then(|s| header.basis.content(s, temperature).ok()).map_or(1.0, |content| content.1);
    let held = species.iter().map(|species| {
        let solute = species.solute.clone();
        let key = solute.key.to_string();
        section
            .value_named(&key, "a concentration at the salinity of the table", "8.5 dKH", move |t| {
                parse_concentration(&solute, t).map_err(|e| e.to_string())
            })
            .check("zero or more", |c| *c >= 0.0)
            .optional()
            .map(|c| c / salt_kg)
    });
    let held = held.collect();
    section.finish();
    held
}
