//! What to do next, and what to read.

use jiff::civil::DateTime;
use rayon::prelude::*;

use super::answer::{AfterIt, NextReading, NowAction};
use crate::app::moment::to_the_minute;
use crate::app::{AppError, Loaded, days_after};
use crate::engine::{Nothing, Simulation};
use crate::learn::{Known, ReadingOf};
use crate::model::{Plan, Side, Timing, Variable};
use crate::numerics::{NINETY, quantile};
use crate::results::Warning;
use crate::sizing::ANIMALS;
use crate::units::{PracticalSalinity, trimmed};
use statrs::distribution::{ContinuousCDF, Normal};

/// Days within which a change is the next thing to do.
const SOON_D: f64 = 62.0;
/// How far from what it is named a batch is mixed at most \[psu\]; what is left waits for the next (common practice, no source).
const FARTHEST_PSU: f64 = 3.0;
/// End of the equation of state \[psu\].
const SALTIEST_PSU: f64 = 42.0;
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
    /// Salinity before it \[psu\].
    before_psu: f64,
    /// Salinity and the solutes after it.
    after: Vec<f64>,
    /// What was changed \[L\].
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
    let before_psu = run.salinity().psu();
    let changed = run.tally().changed_l;
    run.run_until(at_d + 1e-6, &mut Nothing).ok()?;
    let litres = run.volume_l();
    let solutes = run.amounts().solutes().iter().map(|a| a / litres);
    let after = std::iter::once(run.salinity().psu()).chain(solutes).collect();
    Some(Around { before_psu, after, litres: run.tally().changed_l - changed })
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
    let ends = |of: &dyn Fn(&Around) -> f64, all: &[Around]| {
        let mut values: Vec<f64> = all.iter().map(of).collect();
        values.sort_unstable_by(f64::total_cmp);
        [0.05, 0.5, 0.95].map(|q| quantile(&values, q))
    };
    let band = loaded.scenario.plan.bands.iter().find(|b| b.of == Variable::Salinity);
    let target = match band.map(|b| (b.low, b.high)) {
        Some((Some(low), Some(high))) => 0.5 * (low + high),
        _ => loaded.scenario.plan.tank.salinity.psu(),
    };
    let litres = ends(&|a| a.litres, &as_named)[1];
    let (before, after) = (ends(&|a| a.before_psu, &as_named)[1], ends(&|a| a.after[0], &as_named)[1]);
    let share = litres / from_now.tank.operating.litres();
    let usual = ANIMALS[0];
    let wanted = target.clamp(before - usual.down_per_d, before + usual.up_per_d);
    // Where several changes are done at once it is not said which batch would be mixed otherwise.
    let changes = due_at(from_now, in_d);
    let off =
        if changes > 1 || (wanted - after).abs() < NEAR_PSU || share <= 0.0 { 0.0 } else { (wanted - after) / share };
    let mix = (named + off.clamp(-FARTHEST_PSU, FARTHEST_PSU)).clamp(0.0, SALTIEST_PSU);
    let mixed: Vec<Plan> = tanks
        .iter()
        .map(|tank| {
            let mut tank = tank.clone();
            let water = &mut tank.waters[change.water];
            water.salinity = PracticalSalinity::from_psu((water.salinity.psu() + mix - named).clamp(0.0, SALTIEST_PSU));
            tank
        })
        .collect();
    let all = if off == 0.0 { as_named } else { seen(&mixed) };
    let mut list = Vec::new();
    for (q, of) in from_now.quantities().enumerate() {
        let (key, unit) = from_now.named(of);
        let [low, value, high] = ends(&|a| a.after[q], &all);
        list.push(AfterIt { key: key.to_owned(), unit: unit.to_owned(), value, most: [low, high] });
    }
    let when = to_the_minute(days_after(at, in_d)?);
    Ok(Some(NowAction { when, in_d, changes, litres, mix_psu: mix, named_psu: named, after: list }))
}

/// What to read next: what narrows most of what there is between the tank and the edge of its band.
pub(super) fn readings(plan: &Plan, known: &Known) -> Vec<NextReading> {
    let mut list: Vec<(f64, NextReading)> = known
        .worth
        .iter()
        .map(|worth| {
            let of = worth.of_truth();
            let (key, unit) = plan.named(of);
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
            (
                gain,
                NextReading {
                    what,
                    of: key.to_owned(),
                    unit: unit.to_owned(),
                    narrowed: [before, after].map(|sd| NINETY * sd),
                },
            )
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
        let q = plan.quantities().position(|of| of == trigger.of).unwrap_or(0);
        let key = plan.named(trigger.of).0.replace('_', " ");
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
