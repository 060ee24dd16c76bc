//! A spent membrane or resin: half of what is in tap water comes through.

use super::Fault;
use super::words::{add_tap, tap_words};
use crate::model::{Plan, Regime, WaterId};
use crate::solutes::View;

/// Share of what is in tap water that passes (common practice, no source).
const PASSES: f64 = 0.5;
/// Name of the water that comes in.
const SPENT: &str = "water of a spent purifier";

/// A spent membrane or resin: half of what is in tap water comes through.
#[derive(Clone, Copy, Debug)]
pub(super) struct PurifierSpent;

impl Fault for PurifierSpent {
    fn key(&self) -> &'static str {
        "purifier-spent"
    }
    fn title(&self) -> &'static str {
        "purifier membrane or resin spent"
    }
    fn size(&self, plan: &Plan, view: &View) -> String {
        tap_words(plan, view, PASSES)
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_top_off(plan)
            .or((plan.regime.top_off.water != WaterId::PURIFIED).then_some("the top-off water is not purified"))
    }
    fn modify(&self, plan: &Plan, regime: &mut Regime) {
        regime.top_off.water = plan.water(SPENT).unwrap_or(regime.top_off.water);
    }
    fn prepare(&self, plan: &mut Plan) {
        add_tap(plan, SPENT, PASSES);
    }
}
