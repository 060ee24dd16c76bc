//! `[tank]`: the vessel and what it holds at the start.

use super::salinity;
use crate::model::Tank;
use crate::model::limits::SYSTEM_L;
use crate::scenario::reader::Section;
use crate::units::{Duration, Temperature, Volume};

pub(in crate::scenario) fn tank(section: &Section<'_>, _run: Duration) -> Option<Tank> {
    if !section.is_given() && !section.reader.describing {
        section.complain(
            "",
            "the table [tank] is missing".into(),
            Some("example: [tank], then volume = \"400 L\"".into()),
        );
        return None;
    }
    let operating = section
        .quantity::<Volume>(
            "volume",
            "System volume at the operating level: display and sump, less what rock and sand displace.",
        )
        .check("0.1 L to 10000000 L", |v| SYSTEM_L.contains(&v.litres()))
        .required();
    let rim = section
        .quantity::<Volume>("rim", "System volume at which water runs over.")
        .like("440 L")
        .positive()
        .optional();
    let starve = section
        .quantity::<Volume>("return_pump_needs", "System volume below which the return pump draws air.")
        .like("370 L")
        .positive()
        .optional();
    let temperature =
        section.quantity::<Temperature>("temperature", "Temperature of the water.").between(-2.0, 40.0).or("25 C");
    let salinity =
        salinity(section, "salinity", "Salinity at the start.", temperature.unwrap_or_default()).or("35 psu");
    let start = section
        .quantity::<Volume>("start_volume", "System volume at the start, where it is not the operating volume.")
        .positive()
        .optional();
    section.finish();
    let operating = operating?;
    let litres = operating.litres();
    if let Some(rim) = rim.filter(|r| r.litres() < litres) {
        section.complain(
            "rim",
            format!("`tank.rim` of {} L is below the operating volume of {litres} L", rim.litres()),
            Some(format!(
                "allowed: {litres} L or more; it is the volume at which water runs over; example: rim = \"{:.0} L\"",
                litres * 1.1
            )),
        );
    }
    if let Some(starve) = starve.filter(|s| s.litres() >= litres) {
        section.complain(
            "return_pump_needs",
            format!(
                "`tank.return_pump_needs` of {} L is not below the operating volume of {litres} L",
                starve.litres()
            ),
            Some(format!("allowed: below {litres} L; example: return_pump_needs = \"{:.0} L\"", litres * 0.93)),
        );
    }
    if let Some(start) = start.filter(|s| rim.is_some_and(|r| *s > r)) {
        section.complain(
            "start_volume",
            format!("`tank.start_volume` of {} L is above the rim", start.litres()),
            Some("allowed: at most the rim".into()),
        );
    }
    Some(Tank {
        operating,
        rim,
        starve,
        temperature: temperature?,
        salinity: salinity?,
        volume: start.unwrap_or(operating),
    })
}
