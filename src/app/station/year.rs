//! What a station uses in a year, and what a first fill of its tanks takes.

use super::load::LoadedStation;
use super::sizes::{fresh_kg_per_l, made_per_day, say};
use crate::app::AppError;
use crate::results::YearLine;
use crate::sizing::{Heating, SaltMix, StationOutcome, heat_energy};
use crate::units::{InUnits, Power, Volume, YEAR_D};

fn line(what: &str, amount: f64, unit: &str, inputs: String) -> YearLine {
    YearLine { what: what.into(), amount, unit: unit.into(), inputs }
}

/// Electricity of the heaters \[kWh\]: each batch warmed from the temperature of the store to that of the first
/// tank, and the losses of its vessel as long as it stands warm, in a room as cold as the store.
fn heating_kwh(loaded: &LoadedStation, outcome: &StationOutcome) -> Result<f64, AppError> {
    let file = &loaded.file;
    let (from, to) = (file.upkeep.store_temperature, loaded.tanks[0].plan.tank.temperature);
    if to.celsius() <= from.celsius() {
        return Ok(0.0);
    }
    let mean = file.station.vessels.iter().map(|v| v.0).sum::<f64>() / file.station.vessels.len() as f64;
    let vessel = Heating {
        volume: Volume::from_litres(mean),
        salinity: file.station.mother,
        from,
        to,
        room: from,
        heater: Power::default(),
        evaporation_kg_per_day: 0.0,
    };
    let litres: f64 = outcome.batches.iter().map(|b| b.litres).sum();
    let warming = heat_energy(Volume::from_litres(litres), file.station.mother, from, to)?.kwh();
    Ok(warming + vessel.losses(to.celsius())? * 24.0 / 1000.0 * outcome.warm_l_d / mean)
}

/// What a year uses.
pub(super) fn year(loaded: &LoadedStation, outcome: &StationOutcome) -> Result<Vec<YearLine>, AppError> {
    let file = &loaded.file;
    let years = file.run.days() / YEAR_D;
    let books = &outcome.books;
    // What came out of the store, not what went in: the opening stock comes once.
    let kg_per_l = fresh_kg_per_l(loaded);
    let made = (books.made_kg + books.start_kg - books.end_kg) / kg_per_l / years;
    let reject = made * file.station.reject;
    let start_salt: f64 = books.salt_in_kg - books.salt_out_kg - books.salt_end_kg;
    let salt = (books.salt_out_kg + start_salt) / years / SaltMix::default().salt();
    let mixing: f64 = outcome.batches.iter().map(|b| b.ready_d - b.salted_d).sum::<f64>() / years * 24.0;
    let kwh = mixing * file.upkeep.mixing_watts / 1000.0;
    let minutes: f64 = outcome.tanks.iter().map(|t| t.minutes).sum::<f64>() / years;
    let mut list = vec![
        line("purified water", made, "L", "the run".into()),
        line("reject", reject, "L", format!("{} for one of product (station.purifier.reject)", file.station.reject)),
        line(
            "prefilter sets",
            (made + reject) / file.upkeep.prefilter_l,
            "",
            format!(
                "{} a set, product and reject (station.purifier.prefilter_life)",
                say(loaded, file.upkeep.prefilter_l)
            ),
        ),
        line(
            "resin charges",
            made / file.upkeep.resin_l,
            "",
            format!("{} a charge (station.purifier.resin_life)", say(loaded, file.upkeep.resin_l)),
        ),
        line("salt mix", salt, "kg", "10 % of water in the mix (common practice, no source)".into()),
        line("batches", outcome.batches.len() as f64 / years, "", "the run".into()),
        line(
            "electricity for mixing",
            kwh,
            "kWh",
            format!("{} W while a vessel is mixed (station.mixing_power)", file.upkeep.mixing_watts),
        ),
        line(
            "electricity for heating",
            heating_kwh(loaded, outcome)? / years,
            "kWh",
            format!(
                "{} (station.store_temperature) to {}, bare vessel",
                file.upkeep.store_temperature.show(file.units),
                loaded.tanks[0].plan.tank.temperature.show(file.units)
            ),
        ),
        line("starts of the purifier", outcome.starts as f64 / years, "", "the run".into()),
        line("hours that it runs", 24.0 * outcome.making_d / years, "h", "the run".into()),
        line("work", minutes / 60.0, "h", "[costs] of each tank's scenario, or their defaults".into()),
    ];
    if !outcome.trips.is_empty() {
        let hours: f64 = outcome.trips.iter().map(|t| 24.0 * (t.back_d - t.leaves_d)).sum();
        list.push(line("trips of the van", outcome.trips.len() as f64 / years, "", "the run".into()));
        list.push(line("hours on the road and at the stops", hours / years, "h", "the run".into()));
    }
    let costs = &file.costs;
    if let (Some(salt_price), Some(water_price)) = (costs.salt_per_kg, costs.fresh_per_l) {
        let money = salt * salt_price + made * water_price;
        list.push(line("salt and water", money, &costs.currency, "[costs] of the station".into()));
    }
    Ok(list)
}

/// What it takes to fill every tank anew.
pub(super) fn first_fill(loaded: &LoadedStation) -> Result<Vec<YearLine>, AppError> {
    let made = made_per_day(loaded);
    let (mut litres, mut salt, mut fresh) = (0.0, 0.0, 0.0);
    for tank in &loaded.tanks {
        let plan = &tank.plan;
        let volume = plan.tank.operating.litres();
        litres += volume;
        let (water_kg, salt_kg) = plan.basis.content(plan.tank.salinity, plan.tank.temperature)?;
        salt += volume * salt_kg;
        fresh += volume * water_kg;
    }
    let mix = salt / SaltMix::default().salt();
    let largest = loaded.file.station.vessels.iter().map(|v| v.0).fold(0.0, f64::max);
    Ok(vec![
        line("water in the tanks", litres, "L", "system volumes of the scenarios".into()),
        line(
            "purifier",
            (fresh - (mix - salt)) / fresh_kg_per_l(loaded) / made,
            "d",
            format!("{} a day", say(loaded, made)),
        ),
        line("salt mix", mix, "kg", "10 % of water in the mix (common practice, no source)".into()),
        line("rounds of the largest vessel", (litres / largest).ceil(), "", say(loaded, largest)),
        line("mass of the water", salt + fresh, "kg", "ask a structural engineer about floors".into()),
    ])
}
