//! What the waters of a plan hold: the tank at its start, with its volume law, and a litre of each.

use super::EngineError;
use crate::model::{Amounts, Listed, Plan, Regime, VolumeLaw, Water, WaterId};

/// Water kg, salt kg and solutes that the tank of a plan holds at its start.
pub(super) fn start_amounts(plan: &Plan) -> Result<Amounts, EngineError> {
    let solutes = plan.species.iter().map(|s| s.initial);
    let start = Water::new("", plan.tank.salinity, plan.tank.temperature, solutes);
    let litre = start.content(plan.basis, plan.tank.salinity)?;
    Ok(litre.times(plan.tank.volume.litres()))
}

/// What a litre of each water of a plan brings under a regime.
pub(super) fn contents(plan: &Plan, regime: &Regime) -> Result<Listed<WaterId, Amounts>, EngineError> {
    plan.waters.iter().map(|water| Ok(water.content(plan.basis, regime.truth(water)?)?)).collect()
}

/// The volume law at the salinity with which a plan starts.
pub(super) fn start_law(plan: &Plan) -> Result<VolumeLaw, EngineError> {
    Ok(VolumeLaw::at(plan.basis, plan.tank.salinity, plan.tank.temperature)?)
}
