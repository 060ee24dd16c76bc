//! Sizes of a station's stores.

use super::load::LoadedStation;
use super::request::StationRequest;
use crate::app::AppError;
use crate::app::moment::written;
use crate::model::{Basis, DayToDay, Timing};
use crate::numerics::{quantile, smallest_store};
use crate::results::{SaltStoreLine, SizeLine, StationAnswer, Warning, WithoutSupply};
use crate::sizing::{PLAIN_SIZES, StationOutcome, smallest_holding};
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

/// What the purifier makes on each day of the run \[L\].
pub(super) fn made(loaded: &LoadedStation) -> Vec<f64> {
    (0..days(loaded)).map(|day| loaded.file.station.made_in_day(day as f64)).collect()
}

/// The same in the mean.
pub(super) fn made_per_day(loaded: &LoadedStation) -> f64 {
    let made = made(loaded);
    made.iter().sum::<f64>() / made.len().max(1) as f64
}

/// Kilograms in a litre of purified water.
pub(super) fn fresh_kg_per_l(loaded: &LoadedStation) -> f64 {
    let first = &loaded.tanks[0].plan;
    first.basis.fresh_kg_per_l(first.tank.temperature)
}

/// What the calendar asks for, day by day.
pub(super) struct Calendar {
    /// Expected top-off \[L\].
    top_off: Vec<f64>,
    /// That of tanks whose evaporation is not known well, which is in it too, and the deviation of its logarithm.
    unsure: Vec<(Vec<f64>, f64)>,
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
    let mut unsure = Vec::new();
    for (tank, deviation) in loaded.tanks.iter().zip(&loaded.unsure) {
        let regime = &tank.plan.regime;
        let by_keeper = tank.visit.as_ref().is_some_and(|v| v.keeper_tops_off);
        if regime.top_off.restores_level() && !by_keeper {
            let own: Vec<f64> = (0..n).map(|day| regime.evaporation.on_day(day as f64)).collect();
            top_off.iter_mut().zip(&own).for_each(|(litres, own)| *litres += own);
            if *deviation > 0.0 {
                unsure.push((own, *deviation));
            }
        }
        for (i, change) in regime.changes.iter().enumerate() {
            let Timing::Scheduled(schedule) = &change.timing else { continue };
            let need = loaded.need(&tank.plan, i)?;
            let schedule = tank.visit.as_ref().map_or(schedule, |v| &v.schedule);
            for at in schedule.between(-1e-6, n as f64 - 1e-6) {
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a day of the run")]
                let day = (at.max(0.0) as usize).min(n - 1);
                fresh[day].push(need.litres * (need.mother * water_kg + need.trim_kg) / kg_per_l);
                salt[day] += need.mother_l();
            }
        }
    }
    Ok(Calendar { top_off, unsure, fresh, salt })
}

/// The fresh store that each member would have needed \[L\].
pub(super) fn chances(loaded: &LoadedStation, calendar: &Calendar, request: &StationRequest) -> Vec<f64> {
    let largest = loaded.tanks.iter().map(|t| t.plan.tank.operating.litres()).fold(0.0, f64::max);
    let demand = Demand {
        // What is expected of tanks that are not known well is drawn apart.
        top_off_l: (0..calendar.top_off.len())
            .map(|day| calendar.top_off[day] - calendar.unsure.iter().map(|(own, _)| own[day]).sum::<f64>())
            .collect(),
        unsure_l: calendar.unsure.clone(),
        changes_l: calendar.fresh.clone(),
        made_l_per_d: made(loaded),
        day_to_day: DayToDay::USUAL,
        missed: request.missed,
        outage: loaded.file.outage,
        emergency: (EMERGENCIES_PER_YEAR / YEAR_D, 0.5 * largest),
    };
    stores_needed(&demand, request.members, request.seed)
}

/// Kilograms of salt mix in a litre of the mother batch.
fn mix_per_l(loaded: &LoadedStation) -> Result<f64, AppError> {
    Ok(loaded.mother_content(Basis::Mass)?.1 * loaded.file.station.mix_per_salt)
}

/// The largest sum of some days in a row, and the day on which they begin.
fn most_in(days: &[f64], window: f64) -> (f64, usize) {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a number of days")]
    let window = (window.ceil() as usize).clamp(1, days.len());
    let sums = days.windows(window).map(|w| w.iter().sum::<f64>()).enumerate();
    sums.fold((0.0, 0), |most, (k, sum)| if sum > most.0 { (sum, k) } else { most })
}

/// Salt mix that must be in store after a delivery: the most that the calendar takes between two, and one batch of
/// the emergency share.
pub(super) fn salt_store(
    loaded: &LoadedStation,
    calendar: &Calendar,
    outcome: &StationOutcome,
) -> Result<SaltStoreLine, AppError> {
    let station = &loaded.file.station;
    let kg_per_l = mix_per_l(loaded)?;
    let every = station.delivery_d;
    let (most, _) = most_in(&calendar.salt, every);
    let strength = loaded.file.units.strength();
    Ok(SaltStoreLine {
        needed_kg: (most + station.emergency_l) * kg_per_l,
        given_kg: station.salt_mix_kg,
        most_used_kg: outcome.most_salt_mix_kg,
        because: format!(
            "{} d between deliveries, {} {} of mix, and the emergency share",
            trimmed(every, 0),
            significant(strength.value(1e3 * kg_per_l), 3),
            strength.unit
        ),
    })
}

/// The stores that carry the station over days without any supply: its thirstiest days of the calendar, nothing made
/// meanwhile, and one emergency change.
pub(super) fn without_supply(
    loaded: &LoadedStation,
    calendar: &Calendar,
    days: f64,
) -> Result<WithoutSupply, AppError> {
    let station = &loaded.file.station;
    let all: Vec<f64> = calendar.top_off.iter().zip(&calendar.fresh).map(|(t, c)| t + c.iter().sum::<f64>()).collect();
    if days > all.len() as f64 {
        return Err(AppError::Usage(format!(
            "{} d without supply are more than the run of {} d: make the run longer",
            trimmed(days, 1),
            all.len()
        )));
    }
    let (fresh, from) = most_in(&all, days);
    let (salt, _) = most_in(&calendar.salt, days);
    // The emergency share stands ready as salt water; what it is made of must be had again.
    let again = station.emergency_l * loaded.mother_content(Basis::Mass)?.0 / fresh_kg_per_l(loaded);
    Ok(WithoutSupply {
        days,
        fresh_l: fresh + again + station.heel_l,
        heel_l: station.heel_l,
        salt_mix_kg: (salt + station.emergency_l) * mix_per_l(loaded)?,
        from: written(loaded.file.start, from as f64),
    })
}

/// How many tanks' evaporation is not known well, for a reason.
fn told_unsure(loaded: &LoadedStation) -> String {
    let count = loaded.unsure.iter().filter(|d| **d > 0.0).count();
    if count == 0 { String::new() } else { format!(", the rate of {count} tanks as spread in their scenarios") }
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
    let Calendar { top_off, fresh, salt, unsure: _ } = calendar;
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
    let heel = loaded.file.station.heel_l;
    let below = if heel > 0.0 { format!(", and {} below the outlet", say(heel)) } else { String::new() };
    let mut list = Vec::new();
    if mean > made {
        warnings.push(Warning::new(
            "purifier-too-small",
            format!(
                "the purifier makes {} a day, but {} a day are needed; no store is large enough",
                say(made),
                say(mean)
            ),
            "run it longer, raise its feed pressure or temperature, or get a larger one",
        ));
    } else {
        let mut daily = self::made(loaded);
        daily.resize(outcome.demand_l.len(), made);
        let expected = smallest_store(&outcome.demand_l, &daily);
        list.push(line(
            StationAnswer::THIS_RUN,
            expected + heel,
            1.0,
            format!("largest shortfall of this run's demand against {} a day{below}", say(made)),
        ));
    }
    list.push(line(
        StationAnswer::BY_CHANCE,
        quantile(needed, 1.0 - request.accepted) + heel,
        1.0,
        format!(
            "{} % chance of shortage over {} d, {} members: evaporation varying {} % from day to day, {} % of rounds missed, outages, an emergency a year{}{below}",
            trimmed(100.0 * request.accepted, 1),
            trimmed(n, 0),
            needed.len(),
            trimmed(100.0 * DayToDay::USUAL.cv, 0),
            trimmed(100.0 * request.missed, 0),
            told_unsure(loaded)
        ),
    ));
    let rate: f64 = loaded.file.station.vessels.iter().map(|(litres, d)| litres / d.max(1.0 / 24.0)).sum();
    let rate = rate.min((made - top_off.iter().sum::<f64>() / n).max(0.0));
    // What a day takes must stand ready at once; a batch comes out of its vessel whole.
    let largest_day = salt.iter().copied().fold(0.0, f64::max);
    let ready = smallest_store(salt, &vec![rate; salt.len()]).max(largest_day);
    if ready.is_finite() {
        list.push(line(
            "salt water, with emergency share",
            ready + loaded.file.station.emergency_l,
            loaded.mother_kg_per_l()?,
            format!(
                "largest shortfall of the changes against {} a day of mixing, no less than the largest day, and {} held back",
                say(rate),
                say(loaded.file.station.emergency_l)
            ),
        ));
    }
    if list.iter().any(|l| l.plain_l.is_none()) {
        warnings.push(Warning::new(
            "several-vessels",
            "one store is larger than any usual size",
            "join several vessels, and ask a structural engineer about the floor",
        ));
    }
    Ok((list, warnings))
}

/// Litres in the units of the station's file.
pub(super) fn say(loaded: &LoadedStation, litres: f64) -> String {
    let shown = loaded.file.units.shown("L");
    format!("{} {}", shown.number(litres, 3), shown.unit)
}
