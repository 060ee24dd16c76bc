//! The top-off reservoir left empty.

use super::Fault;
use crate::model::{FloatState, Plan, Regime};
use crate::solutes::View;

/// The top-off reservoir left empty.
#[derive(Clone, Copy, Debug)]
pub(super) struct ReservoirDry;

impl Fault for ReservoirDry {
    fn key(&self) -> &'static str {
        "reservoir-dry"
    }
    fn title(&self) -> &'static str {
        "top-off reservoir left empty"
    }
    fn size(&self, _: &Plan, _: &View) -> String {
        "no top-off".into()
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        plan.regime.top_off.reservoir.is_none().then_some("there is no reservoir")
    }
    fn modify(&self, _: &Plan, regime: &mut Regime) {
        regime.top_off.float = FloatState::StuckShut;
        regime.top_off.nobody_there();
    }
}
