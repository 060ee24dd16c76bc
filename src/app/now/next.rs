//! What to do next, and what to read.

use jiff::civil::DateTime;
use rayon::prelude::*;

use super::answer::{AfterIt, NextReading, NowAction};
use crate::app::{AppError, Loaded, days_after};
use crate::engine::{Nothing, Simulation};
use crate::learn::{Known, ReadingOf};
use crate::model::{Amount, Id, Plan, Side, Timing, Variable};
use crate::numerics::quantile;
use crate::results::Warning;
use crate::sizing::ANIMALS;
use crate::units::{PracticalSalinity, trimmed};
use statrs::distribution::{ContinuousCDF, Normal};

/// Days within which a change is the next thing to do.
const SOON_D: f64 = 62.0;
/// How far from what it is named a batch is mixed at most \[psu\]; what is left waits for the next (common practice, no source).
const FARTHEST_PSU: f64 = 3.0;
/// Half of a 90 % interval, in standard deviations.
const NINETY: f64 = 1.644_854;
/// A salinity this close to its target needs no other batch \[psu\].
const NEAR_PSU: f64 = 0.1;

/// The next scheduled change: when it is, the change by its place.
fn next_change(plan: &Plan) -> Option<(f64, usize)> {
    let stretches = plan.stretches(0.0, SOON_D);
    let times = stretches.iter().flat_map(|stretch| {
        stretch.regime.changes.iter().enumerate().filter_map(|(k, change)| match &change.timing {
            Timing::Scheduled(schedule) => Some((stretch.times(schedule).into_iter().find(|t| *t >= 0.0)?, k)),
            Timing::Triggered(_) => None,
        })
    });
    times.min_by(|a, b| a.0.total_cmp(&b.0))
}

/// How many changes are due at a time.
fn due_at(plan: &Plan, at_d: f64) -> usize {
    let due = plan.regime_at(at_d).1.changes.iter().filter(|change| match &change.timing {
        Timing::Scheduled(schedule) => !schedule.between(at_d - 1e-6, at_d + 1e-6).is_empty(),
        Timing::Triggered(_) => false,
    });
    due.count()
}

/// A tank before and after its next change.
struct Around {
    psu: [f64; 2],
    solutes: Vec<f64>,
    litres: f64,
}

fn around(tank: &Plan, at_d: f64) -> Option<Around> {
    let mut plan = tank.clone();
    plan.disturbances.clear();
    let mut run = Simulation::new(&plan).ok()?;
    // What is due at the very beginning is done by running to it.
    if at_d > 1e-6 {
        run.run_until(at_d - 1e-6, &mut Nothing).ok()?;
    }
    let before = run.salinity().psu();
    let changed = run.tally().changed_l;
    run.run_until(at_d + 1e-6, &mut Nothing).ok()?;
    let litres = run.volume_l();
    Some(Around {
        psu: [before, run.salinity().psu()],
        solutes: run.amounts().solutes().iter().map(|a| a / litres).collect(),
        litres: run.tally().changed_l - changed,
    })
}

/// The next thing to do, with its effect on tanks drawn from what is believed: the salinity to mix to brings the middle of them to
/// the middle of its band, no faster than most animals bear.
pub(super) fn action(
    loaded: &Loaded,
    from_now: &Plan,
    tanks: &[Plan],
    at: DateTime,
) -> Result<Option<NowAction>, AppError> {
    let Some((in_d, k)) = next_change(from_now) else { return Ok(None) };
    let regime = from_now.regime_at(in_d).1;
    let Some(change) = regime.changes.get(k) else { return Ok(None) };
    let named = from_now.waters[change.water].salinity.psu();
    let seen = |tanks: &[Plan]| -> Vec<Around> { tanks.par_iter().filter_map(|tank| around(tank, in_d)).collect() };
    let as_named = seen(tanks);
    if as_named.is_empty() {
        return Ok(None);
    }
    let median = |of: &dyn Fn(&Around) -> f64, all: &[Around]| {
        let mut values: Vec<f64> = all.iter().map(of).collect();
        values.sort_unstable_by(f64::total_cmp);
        [0.05, 0.5, 0.95].map(|q| quantile(&values, q))
    };
    let band = loaded.scenario.plan.bands.iter().find(|b| b.of == Variable::Salinity);
    let target = match band.map(|b| (b.low, b.high)) {
        Some((Some(low), Some(high))) => 0.5 * (low + high),
        _ => loaded.scenario.plan.tank.salinity.psu(),
    };
    let litres = median(&|a| a.litres, &as_named)[1];
    let (before, after) = (median(&|a| a.psu[0], &as_named)[1], median(&|a| a.psu[1], &as_named)[1]);
    let share = litres / from_now.tank.operating.litres();
    let usual = ANIMALS[0];
    let wanted = target.clamp(before - usual.down_per_d, before + usual.up_per_d);
    // Where several changes are done at once it is not said which batch would be mixed otherwise.
    let together = due_at(from_now, in_d) > 1;
    let off =
        if together || (wanted - after).abs() < NEAR_PSU || share <= 0.0 { 0.0 } else { (wanted - after) / share };
    let mix = (named + off.clamp(-FARTHEST_PSU, FARTHEST_PSU)).clamp(0.0, 42.0);
    let mixed: Vec<Plan> = tanks
        .iter()
        .map(|tank| {
            let mut tank = tank.clone();
            let water = &mut tank.waters[change.water];
            water.salinity = PracticalSalinity::from_psu((water.salinity.psu() + mix - named).max(0.0));
            tank
        })
        .collect();
    let all = if off == 0.0 { as_named } else { seen(&mixed) };
    let mut list = Vec::new();
    let mut add = |key: String, unit: String, of: &dyn Fn(&Around) -> f64| {
        let [low, value, high] = median(of, &all);
        list.push(AfterIt { key, unit, value, most: [low, high] });
    };
    add("salinity".into(), "psu".into(), &|a| a.psu[1]);
    for (i, species) in from_now.species.each() {
        add(species.solute.key.to_string(), species.solute.unit().to_owned(), &|a| a.solutes[i.place()]);
    }
    let when = days_after(at, in_d)?.strftime("%A %Y-%m-%d %H:%M").to_string();
    let litres = if matches!(change.amount, Amount::Share(_)) { litres } else { median(&|a| a.litres, &all)[1] };
    let changes = due_at(from_now, in_d);
    Ok(Some(NowAction { when, in_d, changes, litres, mix_psu: mix, named_psu: named, after: list }))
}

/// What to read next: what narrows most of what there is between the tank and the edge of its band.
pub(super) fn readings(plan: &Plan, known: &Known) -> Vec<NextReading> {
    let mut list: Vec<(f64, NextReading)> = known
        .worth
        .iter()
        .map(|worth| {
            let of = match worth.quantity {
                0 => Variable::Salinity,
                q => Variable::Solute(crate::model::SoluteId::of(q - 1)),
            };
            let (key, unit) = match of {
                Variable::Salinity => ("salinity".to_owned(), "psu".to_owned()),
                Variable::Solute(i) => {
                    (plan.species[i].solute.key.to_string(), plan.species[i].solute.unit().to_owned())
                }
            };
            let what = match worth.of {
                None => "check the meter with a standard".to_owned(),
                Some(ReadingOf::Salinity) => "read the salinity".to_owned(),
                Some(_) => format!("test {}", key.replace('_', " ")),
            };
            let value = known.quantities.mean[worth.quantity];
            let band = plan.bands.iter().find(|b| b.of == of);
            let room = band.map(|b| match (b.low, b.high) {
                (Some(low), Some(high)) => 0.5 * (high - low),
                (Some(edge), None) | (None, Some(edge)) => (edge - value).abs().max(0.05 * edge),
                (None, None) => value.abs(),
            });
            let (before, after) = worth.known;
            let gain = (before - after) / room.unwrap_or(value.abs()).max(1e-9);
            (gain, NextReading { what, of: key, unit, narrowed: [before, after].map(|sd| NINETY * sd) })
        })
        .collect();
    list.sort_by(|a, b| b.0.total_cmp(&a.0));
    list.into_iter().map(|(_, reading)| reading).collect()
}

/// What is to be said where no change is the next thing to do: that it waits for a reading, with the chance that one would call for
/// it now; or that none comes soon.
pub(super) fn waits(plan: &Plan, from_now: &Plan, known: &Known) -> Vec<Warning> {
    let mut list = Vec::new();
    for change in &from_now.regime_at(0.0).1.changes {
        let Timing::Triggered(trigger) = &change.timing else { continue };
        let (q, key) = match trigger.of {
            Variable::Salinity => (0, "salinity".to_owned()),
            Variable::Solute(i) => (1 + i.place(), plan.species[i].solute.key.replace('_', " ")),
        };
        let deviation = known.quantities.covariance[(q, q)].max(0.0).sqrt().max(1e-9);
        let z = (known.quantities.mean[q] - trigger.level) / deviation;
        let (side, chance) = match trigger.side {
            Side::Above => ("above", Normal::standard().cdf(z)),
            Side::Below => ("below", Normal::standard().sf(z)),
        };
        list.push(Warning::new(
            "waits-for-a-reading",
            format!(
                "a change waits for a reading of {key} {side} its level; the tank is {side} it with a chance of {} %",
                trimmed(100.0 * chance, 0)
            ),
            format!("read the {key}"),
        ));
    }
    if list.is_empty() && next_change(from_now).is_none() {
        let text = format!("no change is scheduled within {SOON_D} d, so there is no next one to tell of");
        list.push(Warning::new("no-change-soon", text, "look further ahead with --at, or give the scenario a change"));
    }
    list
}
