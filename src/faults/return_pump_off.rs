//! The return pump off: the sump is full, so the float lets nothing in.

use super::Fault;
use crate::model::{FloatState, Plan, Regime};
use crate::solutes::View;

/// The return pump off: the sump is full, so the float lets nothing in.
#[derive(Clone, Copy, Debug)]
pub(super) struct ReturnPumpOff;

impl Fault for ReturnPumpOff {
    fn key(&self) -> &'static str {
        "return-pump-off"
    }
    fn title(&self) -> &'static str {
        "return pump off"
    }
    fn size(&self, _: &Plan, _: &View) -> String {
        "no flow through the sump".into()
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_float(plan)
    }
    fn modify(&self, _: &Plan, regime: &mut Regime) {
        regime.top_off.float = FloatState::StuckShut;
        regime.stop_pumped_outflows();
    }
    fn note(&self, _: &Plan, _: &View) -> Option<String> {
        Some("the sump must have room for all that drains down; whatever does not fit is on the floor".into())
    }
}
