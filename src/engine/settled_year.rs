//! The settled year of a regime with a season: the year from the start date on, once the start no longer shows.
//!
//! Acts by the week and a year of 365.2425 d have no common cycle, so there is no fixed point to solve for. Two tanks that
//! begin apart are run year by year instead; what is left of their distance is what is left of any start.

use super::settled_cycle::{SettleError, inside, settled_cycle, span_of};
use super::{Nothing, Simulation, Statistics};
use crate::model::{Amounts, BEFORE_SOLUTES, Evaporation, Plan};
use crate::results::Settled;
use crate::units::{VolumeRate, YEAR_D};

/// What may be left of a start.
const NO_LONGER_SHOWS: f64 = 1e-9;
/// Most years that are run for it.
const MOST_YEARS: u32 = 200;
/// By how much the second tank begins apart from the mean regime's settled amounts.
const APART: f64 = 1.1;
/// Of what an amount comes to, the least that counts as apart.
const LEAST_APART: f64 = 0.05;

/// Finds the settled year of a plan without disturbances.
pub(super) fn settled_year(plan: &Plan) -> Result<Settled, SettleError> {
    let beginning = Simulation::new(plan)?.amounts().clone();
    let second = apart(plan, &beginning)?;
    // The second one is the more likely to be near: it is the one that is told of.
    let mut tanks = [Simulation::new(plan)?, begun(plan, &second)?];
    let begun = tanks.each_ref().map(|tank| tank.amounts().row().to_vec());
    let components = 1..begun[0].len();
    // What neither comes nor goes stays apart for ever, and is settled already.
    let mut moves = vec![true; begun[0].len()];
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
            moves = (0..moves.len()).map(|j| moved(0, j) || moved(1, j)).collect();
        }
        // The float lets the level be within its tolerance, so water is not looked at.
        let left = components.clone().filter(|j| moves[*j]).map(|j| {
            let first = (begun[0][j] - begun[1][j]).abs().max(LEAST_APART * begun[1][j].abs());
            (now[0][j] - now[1][j]).abs() / first.max(f64::MIN_POSITIVE)
        });
        let left = left.fold(0.0, f64::max);
        if left <= NO_LONGER_SHOWS {
            return report(plan, &mut tanks[1], years, left);
        }
    }
    Err(SettleError::NotFound)
}

/// Amounts that begin well apart from those of the plan: what the mean of the season settles to, and more.
fn apart(plan: &Plan, beginning: &Amounts) -> Result<Amounts, SettleError> {
    let mut mean = plan.clone();
    mean.periods.clear();
    if let Evaporation::Seasonal { mean: rate, .. } = &plan.regime.evaporation {
        mean.regime.evaporation = Evaporation::Constant(VolumeRate::from_litres_per_day(rate.litres_per_day()));
    }
    let settled: Amounts = settled_cycle(&mean)?.start.into();
    let mut amounts = beginning.clone();
    for (j, amount) in amounts.row_mut().iter_mut().enumerate().skip(1) {
        *amount = settled.row()[j] * if j < BEFORE_SOLUTES { 0.5 * (1.0 + APART) } else { APART };
    }
    Ok(amounts)
}

/// The plan at its start, with other amounts; what is due at the start is done.
fn begun<'a>(plan: &'a Plan, amounts: &Amounts) -> Result<Simulation<'a>, SettleError> {
    let mut simulation = Simulation::new(plan)?;
    simulation.begin_with(amounts)?;
    Ok(simulation)
}

/// The year that begins now.
fn report(plan: &Plan, tank: &mut Simulation<'_>, years: u32, left: f64) -> Result<Settled, SettleError> {
    let from_d = f64::from(years) * YEAR_D;
    let start = tank.amounts().row().to_vec();
    let mut statistics = Statistics::new(plan.species.len(), &[]);
    tank.show("", &mut statistics);
    tank.run_until(from_d + YEAR_D, &mut statistics)?;
    let a_year = left.max(f64::MIN_POSITIVE).ln() / f64::from(years);
    let after = |left: f64| Some(YEAR_D * left.ln() / a_year);
    let mut spans = (1..statistics.variables.len()).map(|k| span_of(plan, &statistics, k, from_d));
    let salinity_psu = spans.next().ok_or(SettleError::NotFound)?;
    Ok(Settled {
        cycle_d: YEAR_D,
        seasonal: true,
        half_life_d: after(0.5),
        to_5_percent_d: after(0.05),
        salinity_psu,
        solutes: spans.collect(),
        start,
    })
}
