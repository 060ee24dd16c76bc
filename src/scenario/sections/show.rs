//! How numbers are shown.

use crate::scenario::reader::Section;
use crate::seawater::Scale;

/// The scale on which salinity is shown.
pub(in crate::scenario) fn show(section: &Section<'_>) -> Scale {
    section
        .value(
            "salinity",
            "Scale of your meter, for screens, pictures and reports: psu, g/kg, mS/cm, sg with its pair of temperatures.",
            "a scale of salinity",
            "sg 25C/25C",
            |text| Scale::parse(text).map_err(|e| e.to_string()),
        )
        .or("psu")
        .unwrap_or(Scale::Practical)
}
