//! A leak that the top-off makes good, so that nobody sees the level fall.

use super::Fault;
use super::words::rate;
use crate::model::{LEAK, Plan, Regime};
use crate::solutes::View;
use crate::units::VolumeRate;

/// How much \[L/d\] (common practice, no source).
const LEAK_L_PER_D: f64 = 2.0;

/// A leak that the top-off makes good, so that nobody sees the level fall.
#[derive(Clone, Copy, Debug)]
pub(super) struct Leak(
    /// Times the usual size.
    pub f64,
);

impl Fault for Leak {
    fn key(&self) -> &'static str {
        "leak-made-up-by-top-off"
    }
    fn title(&self) -> &'static str {
        "leak made up by the top-off"
    }
    fn size(&self, _: &Plan, view: &View) -> String {
        format!("{} of leak", rate(VolumeRate::from_litres_per_day(self.0 * LEAK_L_PER_D), view))
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_top_off(plan)
    }
    fn modify(&self, _: &Plan, regime: &mut Regime) {
        let more = VolumeRate::from_litres_per_day(self.0 * LEAK_L_PER_D);
        regime.set_outflow(&LEAK, regime.outflow(&LEAK) + more);
    }
}
