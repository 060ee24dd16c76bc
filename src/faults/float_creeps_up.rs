//! A float that creeps up, a little every day.

use super::Fault;
use super::words::{LONGEST_CREEP_D, daily};
use crate::model::{Plan, Regime};
use crate::units::{Volume, trimmed};

/// A float that creeps up, a little every day.
#[derive(Clone, Copy, Debug)]
pub(super) struct FloatCreepsUp;

impl Fault for FloatCreepsUp {
    fn key(&self) -> &'static str {
        "float-creeps-up"
    }
    fn title(&self) -> &'static str {
        "float creeps up"
    }
    fn size(&self, plan: &Plan) -> String {
        format!("{} L/d of level", trimmed(daily(plan), 2))
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_float(plan)
    }
    fn bend(&self, plan: &Plan, regime: &mut Regime) {
        regime.top_off.level_offset += Volume::from_litres(daily(plan));
    }
    fn windows(&self, _: &Plan, begin: f64, end: f64) -> Vec<(f64, f64)> {
        // Every day the float stands a step farther off.
        let steps = (end - begin).min(LONGEST_CREEP_D).ceil().max(1.0);
        std::iter::successors(Some(0.0), |k| Some(k + 1.0))
            .take_while(|k| *k < steps)
            .map(|k| (begin + k, end))
            .collect()
    }
}
