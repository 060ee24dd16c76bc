//! A top-off fed straight from the purifier, stuck open: nothing limits it.

use super::Cap;
use super::Fault;
use crate::model::{FloatState, Plan, Regime};
use crate::solutes::View;
use crate::units::VolumeRate;

/// What a household purifier makes \[L/d\]: 75 US gal a day (common practice, no source).
const PURIFIER_L_PER_D: f64 = 284.0;

/// A top-off fed straight from the purifier, stuck open: nothing limits it.
#[derive(Clone, Copy, Debug)]
pub(super) struct StuckOpenUnlimited;

impl Fault for StuckOpenUnlimited {
    fn key(&self) -> &'static str {
        "top-off-on-purifier-line-stuck-open"
    }
    fn title(&self) -> &'static str {
        "purifier-line top-off stuck open"
    }
    fn size(&self, _: &Plan, view: &View) -> String {
        format!("{}, without end", view.say("flow", PURIFIER_L_PER_D, "L/d", 3))
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_float(plan).or(plan
            .regime
            .top_off
            .reservoir
            .is_some()
            .then_some("the top-off draws on a reservoir, not on the purifier's line"))
    }
    fn modify(&self, _: &Plan, regime: &mut Regime) {
        regime.top_off.pump_with(VolumeRate::from_litres_per_day(PURIFIER_L_PER_D));
        regime.top_off.reservoir = None;
        regime.top_off.float = FloatState::StuckOpen;
    }
    fn inflow_l_per_d(&self, _: &Plan) -> Option<f64> {
        Some(PURIFIER_L_PER_D)
    }
    fn caps(&self) -> &'static [Cap] {
        &[Cap::SmallerReservoir, Cap::RunTimeLimit, Cap::SecondFloat]
    }
}
