//! How numbers are shown.

use crate::scenario::reader::Section;
use crate::seawater::Scale;
use crate::units::UnitSystem;

/// The scale on which salinity is shown, and the units of screens where they are not those of the file.
pub(in crate::scenario) fn show(section: &Section<'_>) -> (Scale, Option<UnitSystem>) {
    let scale = section
        .value(
            "salinity",
            "Scale of your meter, for screens, pictures and reports: psu, g/kg, mS/cm, sg with its pair of temperatures.",
            "a scale of salinity",
            "sg 25C/25C",
            |text| Scale::parse(text).map_err(|e| e.to_string()),
        )
        .or("psu")
        .unwrap_or(Scale::Practical);
    let units = section
        .choice("units", "Units of screens, pictures and reports; without it, those of the file.", &UnitSystem::NAMES)
        .optional()
        .map(UnitSystem::named);
    section.finish();
    (scale, units)
}
