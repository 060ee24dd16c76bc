//! Mix-to: the salinity and alkalinity of new water for which the settled mean of the tank is on target,
//! in spite of skimmate, creep, top-off water and a biased meter.

use crate::engine::{SettleError, settle};
use crate::model::{Id, Plan, Variable, WaterId};
use crate::units::PracticalSalinity;

/// What to mix to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MixTo {
    /// What the new water must hold, in the unit of the quantity.
    pub value: f64,
    /// Where the tank would settle with new water at the target itself.
    pub at_target: f64,
    /// Where it settles with the new water as the scenario has it.
    pub as_is: f64,
}

/// A target that no new water can hold.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MixToError {
    /// No settled cycle.
    #[error("{0}")]
    Settle(#[from] SettleError),
    /// New water is not used.
    #[error("the scenario changes no water with `{0}`, so what it is mixed to does not matter")]
    Unused(String),
    /// Out of reach.
    #[error(
        "new water would have to be mixed to about {tried:.1} to hold a mean of {target:.1}, which cannot be: \
         change more water, stop the loss, or dose between changes"
    )]
    OutOfReach {
        /// Asked for.
        target: f64,
        /// What the new water would have to be.
        tried: f64,
    },
}

/// The settled mean with one value of the new water replaced.
fn settled_mean(plan: &Plan, water: WaterId, of: Variable, value: f64) -> Result<f64, MixToError> {
    let mut plan = plan.clone();
    match of {
        Variable::Salinity => plan.waters[water].salinity = PracticalSalinity::from_psu(value),
        Variable::Solute(i) => plan.waters[water].hold(i, value),
    }
    let settled = settle(&plan)?;
    Ok(match of {
        Variable::Salinity => settled.salinity_psu.mean,
        Variable::Solute(i) => settled.solutes[i.place()].mean,
    })
}

/// Highest salinity \[psu\] that the equation of state knows.
const LARGEST_PSU: f64 = 42.0;
/// First step of the secant, as a share of the target.
const NEARBY: f64 = 0.01;
/// Distance of the mean from the target, as a share of it, that is on target.
const CLOSE: f64 = 1e-10;
/// The same where it comes no closer.
const CLOSE_ENOUGH: f64 = 1e-7;
/// Most rounds of the secant.
const MOST_ROUNDS: usize = 40;

/// The value of the new water for which the settled mean is `target`.
pub fn mix_to(plan: &Plan, water: WaterId, of: Variable, target: f64) -> Result<MixTo, MixToError> {
    let used =
        plan.regime.changes.iter().any(|c| c.water == water) || plan.regime.exchange.is_some_and(|e| e.water == water);
    if !used {
        return Err(MixToError::Unused(plan.waters[water].name.clone()));
    }
    let as_given = match of {
        Variable::Salinity => plan.waters[water].salinity.psu(),
        Variable::Solute(i) => {
            plan.waters[water].concentration(plan.basis, i).map_err(|e| SettleError::Engine(e.into()))?
        }
    };
    let as_is = settled_mean(plan, water, of, as_given)?;
    let at_target = settled_mean(plan, water, of, target)?;
    let limit = match of {
        Variable::Salinity => LARGEST_PSU,
        Variable::Solute(_) => f64::INFINITY,
    };
    let out_of_reach = |tried: f64| MixToError::OutOfReach { target, tried };
    // Secant: the mean is straight in the value but for the volume law and uptakes that reach zero.
    let (mut value, mut mean) = (target, at_target);
    let (mut next, mut next_mean) = {
        let step = NEARBY * target.max(1.0);
        let nearby = if target + step <= limit { target + step } else { target - step };
        (nearby, settled_mean(plan, water, of, nearby).map_err(|_| out_of_reach(nearby))?)
    };
    for _ in 0..MOST_ROUNDS {
        let slope = (next_mean - mean) / (next - value);
        if !slope.is_finite() || slope <= 0.0 {
            break;
        }
        (value, mean) = (next, next_mean);
        next = value + (target - mean) / slope;
        if !(0.0..=limit).contains(&next) {
            return Err(out_of_reach(next));
        }
        next_mean = settled_mean(plan, water, of, next).map_err(|_| out_of_reach(next))?;
        if (next_mean - target).abs() <= CLOSE * target.max(1e-3) {
            return Ok(MixTo { value: next, at_target, as_is });
        }
    }
    // Where the volume law is renewed at the very target, the mean jumps there by parts in a hundred million.
    if (next_mean - target).abs() <= CLOSE_ENOUGH * target.max(1e-3) {
        return Ok(MixTo { value: next, at_target, as_is });
    }
    Err(out_of_reach(next))
}
