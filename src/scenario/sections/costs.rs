//! `[costs]`: prices and times, the keeper's own.

use crate::model::Costs;
use crate::scenario::reader::Section;
use crate::units::{Duration, Mass, Quantity, Volume, number_with_unit, parse};

pub(in crate::scenario) fn costs(section: &Section<'_>) -> Costs {
    let gallon = section.reader.gallon.get();
    let kilogram = price::<Mass>(section, "salt", "Price of the salt mix; without it no cost is given.", "3.5 EUR/kg");
    let litre = price::<Volume>(
        section,
        "fresh_water",
        "Price of purified water, with what its making wastes; without it no cost is given.",
        "0.02 EUR/L",
    );
    if let (Some((_, a)), Some((_, b))) = (&kilogram, &litre)
        && a != b
    {
        section.complain(
            "fresh_water",
            format!("the prices are in {a} and in {b}"),
            Some("give both in one currency; example: fresh_water = \"0.02 EUR/L\"".into()),
        );
    }
    let usual = Costs::default();
    let minutes = |d: Option<Duration>| d.map_or(0.0, |d| d.days() * 1440.0);
    let per_change = section
        .quantity::<Duration>("per_change", "Time for a change, however large: set up, drain, put away.")
        .like("15 min")
        .not_negative()
        .or(&format!("{} min", usual.minutes_per_change));
    let per_litre = section
        .value(
            "per_litre",
            "Time for each litre of salt water mixed and carried, as time for a volume.",
            "a time for a volume",
            "6 min/20 L",
            move |text| {
                let (time, volume) = text.split_once('/').ok_or("write a time for a volume, as in 6 min/20 L")?;
                let time: Duration = parse(time, gallon).map_err(|e| e.to_string())?;
                let volume = if number_with_unit(volume).is_ok() { volume.to_owned() } else { format!("1 {volume}") };
                let volume: Volume = parse(&volume, gallon).map_err(|e| e.to_string())?;
                Ok(time.days() * 1440.0 / volume.litres())
            },
        )
        .check("zero or more", |m| m.is_finite() && *m >= 0.0)
        .or(&format!("{} min/20 L", 20.0 * usual.minutes_per_l));
    let per_top_off = section
        .quantity::<Duration>("per_top_off", "Time for a top-off by hand.")
        .like("3 min")
        .not_negative()
        .or(&format!("{} min", usual.minutes_per_top_off));
    section.finish();
    Costs {
        currency: kilogram.as_ref().or(litre.as_ref()).map_or(String::new(), |(_, c)| c.clone()),
        salt_per_kg: kilogram.map(|(p, _)| p),
        fresh_per_l: litre.map(|(p, _)| p),
        minutes_per_change: minutes(per_change),
        minutes_per_l: per_litre.unwrap_or(usual.minutes_per_l),
        minutes_per_top_off: minutes(per_top_off),
    }
}

/// A price for the base unit of `Q`, and its currency.
fn price<Q: Quantity + 'static>(
    section: &Section<'_>,
    key: &'static str,
    doc: &'static str,
    example: &'static str,
) -> Option<(f64, String)> {
    let gallon = section.reader.gallon.get();
    section
        .value(key, doc, "a price", example, move |text| {
            let (number, rest) = number_with_unit(text).map_err(|e| e.to_string())?;
            let (currency, unit) = rest.split_once('/').ok_or("write the price of a unit, as in 3.5 EUR/kg")?;
            let one: Q = parse(&format!("1 {unit}"), gallon).map_err(|e| e.to_string())?;
            if currency.trim().is_empty() {
                return Err("the currency is missing: write it before the slash, as in 3.5 EUR/kg".into());
            }
            Ok((number / one.base(), currency.trim().to_owned()))
        })
        .check("zero or more", |(p, _)| *p >= 0.0)
        .optional()
}
