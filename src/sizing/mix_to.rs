//! Mix-to: the salinity and alkalinity of new water for which the settled mean of the tank is on target,
//! in spite of skimmate, creep, top-off water and a biased meter.

use crate::engine::{SettleError, settle};
use crate::model::{Plan, Watched};
use crate::numerics::find_root;
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
        "no new water between {low:.3} and {high:.3} holds a mean of {target:.3}: change more water, or stop the loss"
    )]
    OutOfReach {
        /// Lowest tried.
        low: f64,
        /// Highest tried.
        high: f64,
        /// Asked for.
        target: f64,
    },
}

/// The settled mean with one value of the new water replaced.
fn settled_mean(plan: &Plan, water: usize, of: Watched, value: f64) -> Result<f64, MixToError> {
    let mut plan = plan.clone();
    match of {
        Watched::Salinity => plan.waters[water].salinity = PracticalSalinity::from_psu(value),
        Watched::Solute(i) => plan.waters[water].solutes[i] = value,
    }
    let settled = settle(&plan)?;
    Ok(match of {
        Watched::Salinity => settled.salinity_psu.mean,
        Watched::Solute(i) => settled.solutes[i].mean,
    })
}

/// The value of the new water for which the settled mean is `target`.
///
/// On the ideal basis the mean is straight in that value; by mass nearly so, and the root is bracketed.
pub fn mix_to(plan: &Plan, water: usize, of: Watched, target: f64) -> Result<MixTo, MixToError> {
    let used =
        plan.regime.changes.iter().any(|c| c.water == water) || plan.regime.exchange.is_some_and(|e| e.water == water);
    if !used {
        return Err(MixToError::Unused(plan.waters[water].name.clone()));
    }
    let as_given = match of {
        Watched::Salinity => plan.waters[water].salinity.psu(),
        Watched::Solute(i) => plan.waters[water].solutes[i],
    };
    let as_is = settled_mean(plan, water, of, as_given)?;
    let at_target = settled_mean(plan, water, of, target)?;
    let (low, high) = match of {
        Watched::Salinity => (0.0f64.max(target - 12.0), 42.0f64.min(target + 12.0)),
        Watched::Solute(_) => (0.0, 20.0 * target.max(1.0)),
    };
    // The ends may lie outside the model; the excess is then taken as large, with its sign.
    let excess = |value: f64| match settled_mean(plan, water, of, value) {
        Ok(mean) => mean - target,
        Err(_) if value > target => f64::MAX,
        Err(_) => f64::MIN,
    };
    let value = find_root(excess, low, high, 1e-10).map_err(|_| MixToError::OutOfReach { low, high, target })?;
    Ok(MixTo { value, at_target, as_is })
}
