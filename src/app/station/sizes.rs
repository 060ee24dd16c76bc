//! Sizes of a station's stores, and what a year and a first fill take.

use super::load::LoadedStation;
use super::request::StationRequest;
use crate::app::AppError;
use crate::model::{Basis, DayToDay, Timing};
use crate::numerics::{quantile, smallest_store};
use crate::results::{SizeLine, Warning, YearLine};
use crate::sizing::{PLAIN_SIZES, SaltMix, StationOutcome, smallest_holding};
use crate::study::{Demand, stores_needed};
use crate::units::{Volume, YEAR_D, significant, trimmed};

/// Emergencies a year, each one change of half the largest tank (common practice, no source).
const EMERGENCIES_PER_YEAR: f64 = 1.0;

/// Whole days of the run.
fn days(loaded: &LoadedStation) -> usize {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days of a run")]
    let days = loaded.file.run.days().ceil() as usize;
    days
}

/// What the purifier makes on a day \[L\].
fn made_per_day(loaded: &LoadedStation) -> f64 {
    loaded.file.station.made_l_per_d * loaded.file.station.hours_per_d / 24.0
}

/// Kilograms in a litre of purified water.
fn fresh_kg_per_l(loaded: &LoadedStation) -> f64 {
    let first = &loaded.tanks[0].plan;
    first.basis.fresh_kg_per_l(first.tank.temperature)
}

/// What the calendar asks for, day by day.
pub(super) struct Calendar {
    /// Expected top-off \[L\].
    top_off: Vec<f64>,
    /// Fresh water of each change \[L\].
    fresh: Vec<Vec<f64>>,
    /// Mother batch \[L\].
    salt: Vec<f64>,
}

pub(super) fn calendar(loaded: &LoadedStation) -> Result<Calendar, AppError> {
    let n = days(loaded);
    let (mut top_off, mut fresh, mut salt) = (vec![0.0; n], vec![Vec::new(); n], vec![0.0; n]);
    let first = &loaded.tanks[0].plan;
    let kg_per_l = fresh_kg_per_l(loaded);
    let water_kg = loaded.mother_content(first.basis)?.0;
    for tank in &loaded.tanks {
        let regime = &tank.plan.regime;
        if regime.top_off.restores_level() {
            for (day, litres) in top_off.iter_mut().enumerate() {
                *litres += regime.evaporation.on_day(day as f64);
            }
        }
        for (i, change) in regime.changes.iter().enumerate() {
            let Timing::Scheduled(schedule) = &change.timing else { continue };
            let need = loaded.need(&tank.plan, i)?;
            for at in schedule.between(-1e-6, n as f64 - 1e-6) {
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a day of the run")]
                let day = (at.max(0.0) as usize).min(n - 1);
                fresh[day].push(need.litres * (need.mother * water_kg + need.trim_kg) / kg_per_l);
                salt[day] += need.mother_l();
            }
        }
    }
    Ok(Calendar { top_off, fresh, salt })
}

/// The fresh store that each member would have needed \[L\].
pub(super) fn chances(loaded: &LoadedStation, calendar: &Calendar, request: &StationRequest) -> Vec<f64> {
    let largest = loaded.tanks.iter().map(|t| t.plan.tank.operating.litres()).fold(0.0, f64::max);
    let demand = Demand {
        top_off_l: calendar.top_off.clone(),
        changes_l: calendar.fresh.clone(),
        made_l_per_d: made_per_day(loaded),
        day_to_day: DayToDay::USUAL,
        missed: request.missed,
        outage: loaded.file.outage,
        emergency: (EMERGENCIES_PER_YEAR / YEAR_D, 0.5 * largest),
    };
    stores_needed(&demand, request.members, request.seed)
}

/// Salt mix that must be in store after a delivery \[kg\]: the most that the calendar takes between two, and one
/// batch of the emergency share.
pub(super) fn salt_store(loaded: &LoadedStation, calendar: &Calendar) -> Result<(f64, String), AppError> {
    let station = &loaded.file.station;
    let kg_per_l = loaded.mother_content(Basis::Mass)?.1 / SaltMix::default().salt();
    let every = loaded.file.upkeep.delivery_d;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days between deliveries")]
    let window = (every.ceil() as usize).clamp(1, calendar.salt.len());
    let most = calendar.salt.windows(window).map(|w| w.iter().sum::<f64>()).fold(0.0, f64::max);
    let kg = (most + station.emergency_l) * kg_per_l;
    let strength = loaded.file.units.strength();
    let because = format!(
        "{} d between deliveries, {} {} of mix, and the emergency share",
        trimmed(every, 0),
        significant(strength.value(1e3 * kg_per_l), 3),
        strength.unit
    );
    Ok((kg, because))
}

/// Sizes with their reasons.
pub(super) fn sizes(
    loaded: &LoadedStation,
    calendar: &Calendar,
    request: &StationRequest,
    outcome: &StationOutcome,
    needed: &[f64],
) -> Result<(Vec<SizeLine>, Vec<Warning>), AppError> {
    let say = |litres: f64| say(loaded, litres);
    let made = made_per_day(loaded);
    let Calendar { top_off, fresh, salt } = calendar;
    let n = top_off.len() as f64;
    let mean: f64 = (top_off.iter().sum::<f64>() + fresh.iter().flatten().sum::<f64>()) / n;
    let mut warnings = Vec::new();
    let line = |what: &str, needed_l: f64, kg_per_l: f64, because: String| {
        let vessel = smallest_holding(Volume::from_litres(needed_l), &PLAIN_SIZES);
        let full_kg = vessel.map_or(needed_l, |v| v.brim.litres()) * kg_per_l;
        SizeLine {
            what: what.into(),
            needed_l,
            plain_l: vessel.map(|v| v.brim.litres()),
            full_kg,
            floor_kpa: vessel.map(|v| v.floor_kpa(full_kg)),
            because,
        }
    };
    let mut list = Vec::new();
    if mean > made {
        warnings.push(Warning::new(
            "purifier-too-small",
            format!(
                "the purifier makes {} a day, but {} a day are needed: no store is large enough",
                say(made),
                say(mean)
            ),
            "let it run longer, warm or press its feed, or take a larger one",
        ));
    } else {
        let daily = vec![made; outcome.demand_l.len()];
        let expected = smallest_store(&outcome.demand_l, &daily);
        list.push(line(
            "fresh store, as the run drew on it",
            expected,
            1.0,
            format!("sequent peak of the run's own demand against {} a day", say(made)),
        ));
    }
    let sure = quantile(needed, 1.0 - request.accepted);
    list.push(line(
        "fresh store, by chance",
        sure,
        1.0,
        format!(
            "{} % chance of shortage over {} d, {} members: evaporation varying {} % from day to day, {} % of rounds missed, outages, an emergency a year",
            trimmed(100.0 * request.accepted, 1),
            trimmed(n, 0),
            needed.len(),
            trimmed(100.0 * DayToDay::USUAL.cv, 0),
            trimmed(100.0 * request.missed, 0)
        ),
    ));
    let rate: f64 = loaded.file.station.vessels.iter().map(|(litres, d)| litres / d.max(1.0 / 24.0)).sum();
    let rate = rate.min((made - top_off.iter().sum::<f64>() / n).max(0.0));
    // What a day takes must stand ready at once; a batch comes out of its vessel whole.
    let largest_day = salt.iter().copied().fold(0.0, f64::max);
    let ready = smallest_store(salt, &vec![rate; salt.len()]).max(largest_day);
    if ready.is_finite() {
        list.push(line(
            "salt water ready, with the emergency share",
            ready + loaded.file.station.emergency_l,
            loaded.mother_kg_per_l()?,
            format!(
                "sequent peak of the changes against {} a day of mixing, no less than the largest day, and {} held back",
                say(rate),
                say(loaded.file.station.emergency_l)
            ),
        ));
    }
    if list.iter().any(|l| l.plain_l.is_none()) {
        warnings.push(Warning::new(
            "several-vessels",
            "one of the stores is larger than any plain size",
            "join several vessels, and ask a structural engineer about the floor",
        ));
    }
    Ok((list, warnings))
}

/// Litres in the units of the station's file.
fn say(loaded: &LoadedStation, litres: f64) -> String {
    let shown = loaded.file.units.shown("L");
    format!("{} {}", significant(shown.value(litres), 3), shown.unit)
}

fn line(what: &str, amount: f64, unit: &str, inputs: String) -> YearLine {
    YearLine { what: what.into(), amount, unit: unit.into(), inputs }
}

/// What a year uses.
pub(super) fn year(loaded: &LoadedStation, outcome: &StationOutcome) -> Vec<YearLine> {
    let file = &loaded.file;
    let years = file.run.days() / YEAR_D;
    let books = &outcome.books;
    // What came out of the store, not what went in: the opening stock comes once.
    let kg_per_l = fresh_kg_per_l(loaded);
    let made = (books.made_kg + books.start_kg - books.end_kg) / kg_per_l / years;
    let reject = made * file.station.reject;
    let start_salt: f64 = books.salt_in_kg - books.salt_out_kg - books.salt_end_kg;
    let salt = (books.salt_out_kg + start_salt) / years / SaltMix::default().salt();
    let mixing: f64 = outcome.batches as f64 / years * file.station.vessels.iter().map(|v| v.1).sum::<f64>()
        / file.station.vessels.len() as f64
        * 24.0;
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
        line("batches", outcome.batches as f64 / years, "", "the run".into()),
        line(
            "electricity for mixing",
            kwh,
            "kWh",
            format!(
                "{} W while a vessel is mixed (station.mixing_power); heaters not counted",
                file.upkeep.mixing_watts
            ),
        ),
        line("work", minutes / 60.0, "h", "[costs] of each tank's scenario, or their defaults".into()),
    ];
    let costs = &file.costs;
    if let (Some(salt_price), Some(water_price)) = (costs.salt_per_kg, costs.fresh_per_l) {
        let money = salt * salt_price + made * water_price;
        list.push(line("salt and water", money, &costs.currency, "[costs] of the station".into()));
    }
    list
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
