//! Twice the food.

use super::Fault;
use crate::model::{Plan, Regime};
use crate::solutes::View;

/// Twice the food.
#[derive(Clone, Copy, Debug)]
pub(super) struct DoubleFeed(
    /// By what share of the usual load there is more.
    pub f64,
);

impl Fault for DoubleFeed {
    fn key(&self) -> &'static str {
        "double-feed"
    }
    fn title(&self) -> &'static str {
        "animals fed too much"
    }
    fn size(&self, _: &Plan, _: &View) -> String {
        format!("{} times the load", 1.0 + self.0)
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        (plan.regime.loads.iter().chain(&plan.regime.feed).all(|l| *l == 0.0)).then_some("nothing loads the water")
    }
    fn modify(&self, _: &Plan, regime: &mut Regime) {
        for load in regime.loads.iter_mut().chain(&mut regime.feed) {
            *load *= 1.0 + self.0;
        }
    }
}
