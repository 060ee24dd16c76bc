//! Sizes of a station's stores, and what a year and a first fill take.

use super::station::{LoadedStation, StationRequest, recipe};
use crate::model::{Method, Timing};
use crate::numerics::{quantile, smallest_store};
use crate::results::{SizeLine, Warning, YearLine};
use crate::sizing::{PLAIN_SIZES, SaltMix, StationOutcome};
use crate::study::{DayToDay, Demand, stores_needed};
use crate::units::{significant, trimmed};

/// Day-to-day variation of evaporation (common practice, no source).
const EVAPORATION: DayToDay = DayToDay { cv: 0.25, persistence_d: 3.0 };
/// Emergencies a year, each one change of half the largest tank (common practice, no source).
const EMERGENCIES_PER_YEAR: f64 = 1.0;
const YEAR_D: f64 = 365.2425;

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

/// Expected top-off, and the fresh and salt water of the changes, day by day.
fn calendar(loaded: &LoadedStation) -> (Vec<f64>, Vec<Vec<f64>>, Vec<f64>) {
    let n = days(loaded);
    let (mut top_off, mut fresh, mut salt) = (vec![0.0; n], vec![Vec::new(); n], vec![0.0; n]);
    let kg = loaded.file.station.mother.psu() * 1e-3;
    for tank in &loaded.tanks {
        let regime = &tank.plan.regime;
        if !matches!(regime.top_off.method, Method::None) {
            for (day, litres) in top_off.iter_mut().enumerate() {
                *litres += regime.evaporation.on_day(day as f64);
            }
        }
        for (i, change) in regime.changes.iter().enumerate() {
            let Timing::Scheduled(schedule) = &change.timing else { continue };
            let Ok((_, mother, trim)) = recipe(loaded, &tank.plan, i) else { continue };
            for at in schedule.between(-1e-6, n as f64 - 1e-6) {
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a day of the run")]
                let day = (at.max(0.0) as usize).min(n - 1);
                // Salt takes about its own mass less of the water: a litre of sea water holds 0.99 L of fresh.
                fresh[day].push(mother * (1.0 - 0.3 * kg) + trim);
                salt[day] += mother;
            }
        }
    }
    (top_off, fresh, salt)
}

/// The fresh store that each member would have needed \[L\].
pub(super) fn chances(loaded: &LoadedStation, request: &StationRequest) -> Vec<f64> {
    let (top_off_l, changes_l, _) = calendar(loaded);
    let largest = loaded.tanks.iter().map(|t| t.plan.tank.operating.litres()).fold(0.0, f64::max);
    let demand = Demand {
        top_off_l,
        changes_l,
        made_l_per_d: made_per_day(loaded),
        day_to_day: EVAPORATION,
        missed: request.missed,
        outage: loaded.file.outage,
        emergency: (EMERGENCIES_PER_YEAR / YEAR_D, 0.5 * largest),
    };
    stores_needed(&demand, request.members, request.seed)
}

fn plain(litres: f64) -> Option<f64> {
    PLAIN_SIZES.iter().map(|v| v.brim.litres()).filter(|b| *b >= litres).min_by(f64::total_cmp)
}

/// Acceleration of gravity \[m/s2\].
const GRAVITY: f64 = 9.806_65;

/// Pressure under the base of the plain vessel that holds it, full \[kPa\].
fn floor_kpa(litres: f64, kg_per_l: f64) -> Option<f64> {
    let vessel = PLAIN_SIZES
        .iter()
        .filter(|v| v.brim.litres() >= litres)
        .min_by(|a, b| a.brim.litres().total_cmp(&b.brim.litres()))?;
    let area = std::f64::consts::FRAC_PI_4 * vessel.base_m.powi(2);
    Some((vessel.brim.litres() * kg_per_l + vessel.tare_kg) * GRAVITY / area / 1e3)
}

/// Salt mix that must be in store after a delivery \[kg\]: the most that the calendar takes between two, and one
/// batch of the emergency share.
pub(super) fn salt_store(loaded: &LoadedStation) -> (f64, String) {
    let (_, _, salt_water) = calendar(loaded);
    let station = &loaded.file.station;
    let mass = crate::seawater::density(station.mother, loaded.tanks[0].plan.tank.temperature)
        .map_or(1.025, |d| d.kg_per_m3() * 1e-3);
    let share = crate::seawater::absolute_from_practical(station.mother).g_per_kg() * 1e-3;
    let kg_per_l = mass * share / (1.0 - SaltMix::default().water_share);
    let every = loaded.file.upkeep.delivery_d;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days between deliveries")]
    let window = (every.ceil() as usize).clamp(1, salt_water.len());
    let most = salt_water.windows(window).map(|w| w.iter().sum::<f64>()).fold(0.0, f64::max);
    let kg = (most + station.emergency_l) * kg_per_l;
    (
        kg,
        format!(
            "{} d between deliveries, {} g of mix a litre, and the emergency share",
            trimmed(every, 0),
            trimmed(1e3 * kg_per_l, 1)
        ),
    )
}

/// Sizes with their reasons.
pub(super) fn sizes(
    loaded: &LoadedStation,
    request: &StationRequest,
    outcome: &StationOutcome,
    needed: &[f64],
) -> (Vec<SizeLine>, Vec<Warning>) {
    let made = made_per_day(loaded);
    let (top_off, fresh, salt) = calendar(loaded);
    let n = top_off.len() as f64;
    let mean: f64 = (top_off.iter().sum::<f64>() + fresh.iter().flatten().sum::<f64>()) / n;
    let mut warnings = Vec::new();
    let line = |what: &str, needed_l: f64, kg_per_l: f64, because: String| SizeLine {
        what: what.into(),
        needed_l,
        plain_l: plain(needed_l),
        full_kg: plain(needed_l).unwrap_or(needed_l) * kg_per_l,
        floor_kpa: floor_kpa(needed_l, kg_per_l),
        because,
    };
    let mut list = Vec::new();
    if mean > made {
        warnings.push(Warning::new(
            "purifier-too-small",
            format!(
                "the purifier makes {} L a day, but {} L a day are needed: no store is large enough",
                significant(made, 3),
                significant(mean, 3)
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
            format!("sequent peak of the run's own demand against {} L a day", significant(made, 3)),
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
            trimmed(100.0 * EVAPORATION.cv, 0),
            trimmed(100.0 * request.missed, 0)
        ),
    ));
    let rate: f64 = loaded.file.station.vessels.iter().map(|(litres, d)| litres / d.max(1.0 / 24.0)).sum();
    let rate = rate.min((made - top_off.iter().sum::<f64>() / n).max(0.0));
    let ready = smallest_store(&salt, &vec![rate; salt.len()]);
    if ready.is_finite() {
        list.push(line(
            "salt water ready, with the emergency share",
            ready + loaded.file.station.emergency_l,
            1.025,
            format!(
                "sequent peak of the changes against {} L a day of mixing, and {} L held back",
                significant(rate, 3),
                significant(loaded.file.station.emergency_l, 3)
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
    (list, warnings)
}

/// What a year uses.
pub(super) fn year(loaded: &LoadedStation, outcome: &StationOutcome) -> Vec<YearLine> {
    let file = &loaded.file;
    let years = file.run.days() / YEAR_D;
    let books = &outcome.books;
    let made = books.made_kg / years;
    let reject = made * file.station.reject;
    let start_salt: f64 = books.salt_in_kg - books.salt_out_kg - books.salt_end_kg;
    let salt = (books.salt_out_kg + start_salt) / years / (1.0 - SaltMix::default().water_share);
    let mixing: f64 = outcome.batches as f64 / years * file.station.vessels.iter().map(|v| v.1).sum::<f64>()
        / file.station.vessels.len() as f64
        * 24.0;
    let kwh = mixing * file.upkeep.mixing_watts / 1000.0;
    let minutes: f64 = outcome.tanks.iter().map(|t| t.minutes).sum::<f64>() / years;
    let line = |what: &str, amount: f64, unit: &str, inputs: String| YearLine {
        what: what.into(),
        amount,
        unit: unit.into(),
        inputs,
    };
    let mut list = vec![
        line("purified water", made, "L", "the run".into()),
        line("reject", reject, "L", format!("{} for one of product (station.purifier.reject)", file.station.reject)),
        line(
            "prefilter sets",
            (made + reject) / file.upkeep.prefilter_l,
            "",
            format!("{} L a set, product and reject (station.purifier.prefilter_life)", file.upkeep.prefilter_l),
        ),
        line(
            "resin charges",
            made / file.upkeep.resin_l,
            "",
            format!("{} L a charge (station.purifier.resin_life)", file.upkeep.resin_l),
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
pub(super) fn first_fill(loaded: &LoadedStation) -> Vec<YearLine> {
    let made = made_per_day(loaded);
    let (mut litres, mut salt, mut fresh) = (0.0, 0.0, 0.0);
    for tank in &loaded.tanks {
        let plan = &tank.plan;
        let volume = plan.tank.operating.litres();
        litres += volume;
        let water = crate::model::Water {
            name: String::new(),
            salinity: plan.tank.salinity,
            mixed_by_meter: false,
            temperature: plan.tank.temperature,
            solutes: Vec::new(),
        };
        if let Ok(content) = water.content(plan.basis, plan.tank.salinity) {
            salt += volume * content.0[1];
            fresh += volume * content.0[0];
        }
    }
    let mix = salt / (1.0 - SaltMix::default().water_share);
    let largest = loaded.file.station.vessels.iter().map(|v| v.0).fold(0.0, f64::max);
    let line = |what: &str, amount: f64, unit: &str, inputs: String| YearLine {
        what: what.into(),
        amount,
        unit: unit.into(),
        inputs,
    };
    vec![
        line("water in the tanks", litres, "L", "system volumes of the scenarios".into()),
        line("purifier", (fresh - (mix - salt)) / made, "d", format!("{} L a day", significant(made, 3))),
        line("salt mix", mix, "kg", "10 % of water in the mix (common practice, no source)".into()),
        line("rounds of the largest vessel", (litres / largest).ceil(), "", format!("{largest} L")),
        line("mass of the water", salt + fresh, "kg", "ask a structural engineer about floors".into()),
    ]
}
