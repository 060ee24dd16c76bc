//! The settled year of a regime with a season: the year from the start date on, once the start no longer shows.
//!
//! Acts by the week and a year of 365.2425 d have no common cycle, so there is no fixed point to solve for. Two tanks that
//! begin apart are run year by year instead; what is left of their distance is what is left of any start.

use super::settled_cycle::{SettleError, inside, settled_cycle, span_of};
use super::{Nothing, Simulation, Statistics};
use crate::model::{Amounts, BEFORE_SOLUTES, Evaporation, Plan};
use crate::numerics::Elementary;
use crate::results::Settled;
use crate::units::{VolumeRate, YEAR_D};

/// What may be left of a start.
const NO_LONGER_SHOWS: f64 = 1e-9;
/// Most years that are run for it.
const MOST_YEARS: u32 = 200;
/// By what shares of its salt and of its solutes the second tank begins above what the mean of the year settles to.
const ABOVE: [f64; 2] = [0.05, 0.1];
/// Of what an amount comes to, the least distance that counts as apart.
const LEAST_APART: f64 = 0.05;

/// Finds the settled year of a plan without disturbances.
pub(super) fn settled_year(plan: &Plan) -> Result<Settled, SettleError> {
    let mean = settled_cycle(&mean_of(plan));
    if let Err(why) = &mean
        && (plan.periods.is_empty() || matches!(why, SettleError::NotPeriodic(_) | SettleError::TooLong))
    {
        return Err(why.clone());
    }
    let mut tanks = [Simulation::new(plan)?, Simulation::new(plan)?];
    let second = apart(&tanks[0], mean.as_ref().ok());
    tanks[1].begin_with(&second)?;
    let begun = tanks.each_ref().map(|tank| tank.amounts().row().to_vec());
    // What neither comes nor goes stays apart for ever, and is settled already.
    let mut moves = Vec::new();
    for years in 1..=MOST_YEARS {
        for tank in &mut tanks {
            tank.run_until(f64::from(years) * YEAR_D, &mut Nothing)?;
            inside(tank.amounts().row())?;
            if tank.tally().empty_d.is_some() {
                return Err(SettleError::Level);
            }
        }
        let now = tanks.each_ref().map(|tank| tank.amounts().row());
        if years == 1 {
            let moved = |k: usize, j: usize| (now[k][j] - begun[k][j]).abs() > NO_LONGER_SHOWS * begun[k][j].abs();
            // The float lets the level be within its tolerance, so water is not looked at.
            moves = (1..begun[0].len()).filter(|j| moved(0, *j) || moved(1, *j)).collect();
        }
        let left = moves.iter().map(|&j| {
            let first = (begun[0][j] - begun[1][j]).abs().max(LEAST_APART * begun[1][j].abs());
            (now[0][j] - now[1][j]).abs() / first
        });
        let left = left.fold(0.0, f64::max);
        if left <= NO_LONGER_SHOWS {
            let half_life_d = mean
                .map_or_else(|_| Some(YEAR_D * f64::from(years) * 0.5f64.to_ln() / left.to_ln()), |m| m.half_life_d);
            let [first, _] = tanks;
            return report(plan, first, half_life_d);
        }
    }
    // Where the mean of the year does not settle either, that says why.
    mean.and(Err(SettleError::NotFound))
}

/// The plan with its usual regime and the mean of its season all the year.
fn mean_of(plan: &Plan) -> Plan {
    let mut mean = plan.clone();
    mean.periods.clear();
    let rate = VolumeRate::from_litres_per_day(plan.regime.evaporation.mean());
    mean.regime.evaporation = Evaporation::Constant(rate);
    mean
}

/// Amounts that begin well apart from those of a tank, in every component: more than what the mean of the year settles to.
fn apart(tank: &Simulation<'_>, mean: Option<&Settled>) -> Amounts {
    let mut amounts = tank.amounts().clone();
    if let Some(mean) = mean {
        amounts.row_mut()[1..].copy_from_slice(&mean.start[1..]);
    }
    // One in a thousand of salt, and one unit in a litre of each solute, where there was nothing.
    let (salt_kg, solute) = (1e-3 * tank.amounts().water_kg(), tank.volume_l());
    for (j, amount) in amounts.row_mut().iter_mut().enumerate().skip(1) {
        let (share, least) = if j < BEFORE_SOLUTES { (ABOVE[0], salt_kg) } else { (ABOVE[1], solute) };
        *amount += share * amount.abs() + least;
    }
    amounts
}

/// The year of a tank that begins now.
fn report(plan: &Plan, mut tank: Simulation<'_>, half_life_d: Option<f64>) -> Result<Settled, SettleError> {
    let from_d = tank.time().days();
    let start = tank.amounts().row().to_vec();
    let mut statistics = Statistics::new(plan.species.len(), &[]);
    tank.show("", &mut statistics);
    tank.run_until(from_d + YEAR_D, &mut statistics)?;
    let span = |k: usize| span_of(plan, &statistics, k, from_d);
    Ok(Settled {
        cycle_d: YEAR_D,
        seasonal: true,
        half_life_d,
        to_5_percent_d: half_life_d.map(|d| d * 0.05f64.to_ln() / 0.5f64.to_ln()),
        salinity_psu: span(1),
        solutes: (2..statistics.variables.len()).map(span).collect(),
        start,
    })
}
