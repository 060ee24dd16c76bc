//! `[tank]`: the vessel and what it holds at the start.

use super::salinity;
use crate::model::limits::SYSTEM_L;
use crate::model::{Ph, Tank};
use crate::scenario::reader::Section;
use crate::seawater::PhScale;
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
    let ph = ph(section);
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
        ph,
    })
}

/// The pH, which says how much of the ammonia is toxic.
fn ph(section: &Section<'_>) -> Option<Ph> {
    let number = |text: &str| text.parse::<f64>().map_err(|_| format!("`{text}` is no number"));
    let highest = section
        .value("ph", "pH at its highest in the day, for the toxic share of ammonia.", "a number", "8.3", number)
        .check("6 to 10", |ph| (6.0..=10.0).contains(ph))
        .optional();
    let scale = section
        .choice(
            "ph_scale",
            "Scale of the pH: nbs, a meter set with buffers of 4, 7 and 10; total, that of sea water's constants.",
            &["nbs", "total"],
        )
        .optional();
    if highest.is_some() && scale.is_none() && !section.has("ph_scale") {
        section.complain(
            "ph",
            "a pH without its scale may mean a third more or less toxic ammonia".into(),
            Some("example: ph_scale = \"nbs\", for a meter set with buffers of 4, 7 and 10".into()),
        );
    }
    let scale = if scale? == "nbs" { PhScale::Nbs } else { PhScale::Total };
    Some(Ph { highest: highest?, scale })
}
