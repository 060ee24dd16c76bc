//! The top-off reservoir filled with tap water.

use super::Fault;
use super::words::{add_tap, tap_words};
use crate::model::{Plan, Regime, WaterId};
use crate::solutes::View;

/// Name of the water that comes in.
const TAP: &str = "tap water by mistake";

/// The top-off reservoir filled with tap water.
#[derive(Clone, Copy, Debug)]
pub(super) struct ReservoirTap;

impl Fault for ReservoirTap {
    fn key(&self) -> &'static str {
        "reservoir-filled-with-tap-water"
    }
    fn title(&self) -> &'static str {
        "reservoir filled with tap water"
    }
    fn size(&self, plan: &Plan, view: &View) -> String {
        tap_words(plan, view, 1.0)
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_top_off(plan)
            .or((plan.regime.top_off.water != WaterId::PURIFIED).then_some("the top-off water is not purified"))
    }
    fn modify(&self, plan: &Plan, regime: &mut Regime) {
        regime.top_off.water = plan.water(TAP).unwrap_or(regime.top_off.water);
    }
    fn prepare(&self, plan: &mut Plan) {
        add_tap(plan, TAP, 1.0);
    }
}
