//! Nobody at home: what happens to the tank by the day, in many members.

use rayon::prelude::*;

use super::WalkError;
use crate::engine::{Crossings, EngineError, Simulation};
use crate::model::{Dose, Plan, Schedule, Timing};
use crate::units::Duration;

/// What one member came to.
#[derive(Clone, Debug, PartialEq)]
pub struct Absent {
    /// When the top-off reservoir ran dry \[d\].
    pub dry_d: Option<f64>,
    /// When the return pump starved \[d\].
    pub starved_d: Option<f64>,
    /// When each band was left \[d\].
    pub left_d: Vec<Option<f64>>,
    /// Top-off used by each day, from the first on \[L\].
    pub top_off_l: Vec<f64>,
}

/// The plan with nobody there: the reservoir is full and not filled again, nothing is changed, read, dosed by
/// hand or topped off by hand.
#[must_use]
pub fn nobody_there(plan: &Plan, days: f64) -> Plan {
    let mut plan = plan.clone();
    plan.horizon = Duration::from_days(days);
    plan.output_every = None;
    let regime = &mut plan.regime;
    if let Some(reservoir) = &mut regime.top_off.reservoir {
        reservoir.refill = Schedule::Never;
    }
    regime.top_off.nobody_there();
    for change in &mut regime.changes {
        change.timing = Timing::Scheduled(Schedule::Never);
    }
    regime.doses.retain(goes_on);
    regime.reading = None;
    plan
}

/// Whether a dose goes on with nobody there: what is dosed daily or oftener comes from a pump.
#[must_use]
pub fn goes_on(dose: &Dose) -> bool {
    dose.schedule.longest_gap().is_some_and(|gap| gap <= 1.0 + 1e-9)
}

/// Runs `count` members of an absence; `member` makes the plan of each, with [`nobody_there`].
///
/// # Errors
///
/// What `member` says, or why a plan cannot be run.
pub fn absence<E: From<WalkError> + Send>(
    days: f64,
    count: u64,
    member: &(impl Fn(u64) -> Result<Plan, E> + Sync),
) -> Result<Vec<Absent>, E> {
    (0..count).into_par_iter().map(|m| absent(&member(m)?, days).map_err(|e| WalkError::from(e).into())).collect()
}

fn absent(plan: &Plan, days: f64) -> Result<Absent, EngineError> {
    let mut simulation = Simulation::new(plan)?;
    let mut crossings = Crossings::new(&plan.bands);
    let mut top_off_l = Vec::new();
    let mut day = 0.0;
    while day < days {
        day = (day + 1.0).min(days);
        simulation.run_until(day, &mut crossings)?;
        top_off_l.push(simulation.tally().top_off_l);
    }
    let tally = simulation.tally();
    let left_d = crossings.left_at();
    Ok(Absent { dry_d: tally.reservoir_dry_d, starved_d: tally.starved_d, left_d, top_off_l })
}

/// Days for which it is sure, with each chance, that something has not happened yet; nothing where it does
/// not happen within the time that was looked at.
#[must_use]
pub fn sure_days(times: &[Option<f64>], chances: &[f64]) -> Vec<Option<f64>> {
    let mut sorted: Vec<f64> = times.iter().map(|t| t.unwrap_or(f64::INFINITY)).collect();
    sorted.sort_unstable_by(f64::total_cmp);
    chances
        .iter()
        .map(|chance| {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a rank")]
            let rank = ((1.0 - chance) * sorted.len() as f64) as usize;
            sorted.get(rank).copied().filter(|t| t.is_finite())
        })
        .collect()
}
