//! The supplement that holds a solute: how much of it a day, all the time, brings its settled mean to a target.

use crate::engine::{SettleError, settle};
use crate::model::{Component, Dosing, Id, Plan, SoluteId};

/// Distance of the mean from the target, as a share of it, that is on target.
const CLOSE: f64 = 1e-9;
/// Most rounds of the secant.
const MOST_ROUNDS: usize = 30;

/// Amount of a solute a day \[mg/d or meq/d\] for which the plan settles at a mean of `target` \[mg/L or meq/L\]; nothing
/// where none does, or where the tank settles above it without any.
///
/// The solute is taken by itself, without the salt of the chemical that it is given as.
pub fn supplement(plan: &Plan, solute: SoluteId, target: f64) -> Result<Option<f64>, SettleError> {
    let mean = |per_day: f64| -> Result<f64, SettleError> {
        let mut dosed = plan.clone();
        for regime in dosed.regimes_mut() {
            let per_day = vec![(Component::Solute(solute), per_day)];
            regime.dosing.push(Dosing { name: "supplement".into(), per_day });
        }
        Ok(settle(&dosed)?.solutes[solute.place()].mean)
    };
    let without = mean(0.0)?;
    if without >= target {
        return Ok(None);
    }
    // The mean is straight in the dose, but for an uptake that reaches zero.
    let (mut dose, mut at) = (0.0, without);
    let mut next = target * plan.tank.operating.litres() * 0.1;
    for _ in 0..MOST_ROUNDS {
        let then = mean(next)?;
        if (then - target).abs() <= CLOSE * target.max(1e-6) {
            return Ok(Some(next));
        }
        let slope = (then - at) / (next - dose);
        if !(slope.is_finite() && slope > 0.0) {
            // Still at zero: more is needed before anything is left over.
            (dose, at, next) = (next, then, 2.0 * next);
            continue;
        }
        (dose, at, next) = (next, then, (next + (target - then) / slope).max(0.0));
    }
    Ok(None)
}
