//! The top-off valve stuck shut, or its pump dead.

use super::Fault;
use crate::model::{FloatState, Plan, Regime};
use crate::solutes::View;

/// The top-off valve stuck shut, or its pump dead.
#[derive(Clone, Copy, Debug)]
pub(super) struct StuckShut;

impl Fault for StuckShut {
    fn key(&self) -> &'static str {
        "top-off-stuck-shut"
    }
    fn title(&self) -> &'static str {
        "top-off valve stuck shut"
    }
    fn size(&self, _: &Plan, _: &View) -> String {
        "no top-off".into()
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_float(plan)
    }
    fn modify(&self, _: &Plan, regime: &mut Regime) {
        regime.top_off.float = FloatState::StuckShut;
    }
}
