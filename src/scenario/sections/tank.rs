//! `[tank]`: the vessel and what it holds at the start.

use super::salinity;
use crate::model::limits::SYSTEM_L;
use crate::model::{Listed, Ph, SoluteId, Species, Tank};
use crate::scenario::reader::Section;
use crate::seawater::{PhScale, carbonate};
use crate::units::{Temperature, Volume};

/// Reads it; gives with it the CO2 of the air over it \[µatm\], where that is to say what the pH is.
pub(in crate::scenario) fn tank(section: &Section<'_>) -> Option<(Tank, Option<f64>)> {
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
        .absent("none: water never runs over");
    let starve = section
        .quantity::<Volume>("return_pump_needs", "System volume below which the return pump draws air.")
        .like("370 L")
        .positive()
        .absent("none: the return pump never draws air");
    let temperature =
        section.quantity::<Temperature>("temperature", "Temperature of the water.").between(-2.0, 40.0).or("25 C");
    let salinity =
        salinity(section, "salinity", "Salinity at the start.", temperature.unwrap_or_default()).or("35 psu");
    let start = section
        .quantity::<Volume>("start_volume", "System volume at the start, where it is not the operating volume.")
        .positive()
        .optional();
    let ph = ph(section);
    let co2 = co2(section, ph.is_some());
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
    let tank = Tank {
        operating,
        rim,
        starve,
        temperature: temperature?,
        salinity: salinity?,
        volume: start.unwrap_or(operating),
        ph,
    };
    Some((tank, co2))
}

/// The pH that follows from alkalinity at the start and the CO2 of the air \[µatm\], in equilibrium with it.
pub(in crate::scenario) fn ph_of_air(
    root: &Section<'_>,
    tank: &mut Tank,
    co2_uatm: Option<f64>,
    species: &Listed<SoluteId, Species>,
) {
    let Some(co2) = co2_uatm else {
        if tank.ph.is_none() && species.iter().any(|s| s.solute.key == "ammonia") {
            root.tell("tank.ph", "none: how much of the ammonia is toxic is not told");
        }
        return;
    };
    let Some(alkalinity) = species.iter().find(|s| s.solute.key == "alkalinity") else {
        root.complain(
            "tank.co2",
            "the pH follows from alkalinity and CO2, and alkalinity is not tracked".into(),
            Some("example: [solutes.alkalinity] start = \"8.5 dKH\", or give ph and ph_scale".into()),
        );
        return;
    };
    match carbonate(alkalinity.initial, co2, None, tank.salinity, tank.temperature) {
        Ok(state) => tank.ph = Some(Ph { highest: state.ph, scale: PhScale::Total }),
        Err(why) => root.complain("tank.co2", why.to_string(), Some("give ph and ph_scale in its place".into())),
    }
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

/// The CO2 of the air, in place of a pH.
fn co2(section: &Section<'_>, has_ph: bool) -> Option<f64> {
    let co2 = section
        .value(
            "co2",
            "CO2 in the air of the room; the pH is worked out from it where no pH is given.",
            "ppm",
            "600 ppm",
            |t| {
                let number = t.strip_suffix("ppm").and_then(|n| n.trim().parse::<f64>().ok());
                number.ok_or_else(|| format!("`{t}` is no CO2 of air: write it in ppm"))
            },
        )
        .check("200 to 5000 ppm", |ppm| (200.0..=5000.0).contains(ppm))
        .optional();
    if co2.is_some() && has_ph {
        section.complain("co2", "the pH is given already".into(), Some("keep one of `ph` and `co2`".into()));
    }
    co2
}
