//! The top-off valve stuck open, until the reservoir is empty.

use super::Cap;
use super::Fault;
use super::words::reservoir;
use crate::model::{FloatState, Plan, Regime};
use crate::solutes::View;

/// The top-off valve stuck open, until the reservoir is empty.
#[derive(Clone, Copy, Debug)]
pub(super) struct StuckOpen;

impl Fault for StuckOpen {
    fn key(&self) -> &'static str {
        "top-off-stuck-open"
    }
    fn title(&self) -> &'static str {
        "top-off valve stuck open"
    }
    fn size(&self, plan: &Plan, view: &View) -> String {
        format!("{}, emptied at each filling", reservoir(plan, view))
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_float(plan)
    }
    fn modify(&self, _: &Plan, regime: &mut Regime) {
        regime.top_off.float = FloatState::StuckOpen;
    }
    fn inflow_l_per_d(&self, plan: &Plan) -> Option<f64> {
        super::pump_l_per_d(plan)
    }
    fn caps(&self) -> &'static [Cap] {
        &[Cap::SmallerReservoir, Cap::RunTimeLimit, Cap::SecondFloat]
    }
}
