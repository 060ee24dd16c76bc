//! A float that creeps up or down, a little every day.

use super::Fault;
use crate::model::{Plan, Regime};
use crate::solutes::View;
use crate::units::Volume;

/// Share of the volume by which it creeps a day: 1 % in a week (common practice, no source).
const SHARE_PER_D: f64 = 0.01 / 7.0;
/// Longest creep that is followed \[d\].
const LONGEST_D: f64 = 120.0;

/// A float that creeps.
#[derive(Clone, Copy, Debug)]
pub(super) enum FloatCreeps {
    Up,
    Down,
}

impl FloatCreeps {
    fn litres_per_day(self, plan: &Plan) -> f64 {
        let litres = SHARE_PER_D * plan.tank.operating.litres();
        match self {
            Self::Up => litres,
            Self::Down => -litres,
        }
    }
}

impl Fault for FloatCreeps {
    fn key(&self) -> &'static str {
        match self {
            Self::Up => "float-creeps-up",
            Self::Down => "float-creeps-down",
        }
    }
    fn title(&self) -> &'static str {
        match self {
            Self::Up => "float creeps up",
            Self::Down => "float creeps down",
        }
    }
    fn size(&self, plan: &Plan, view: &View) -> String {
        format!("{} of level", view.say("level", self.litres_per_day(plan), "L/d", 3))
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_float(plan)
    }
    fn modify(&self, plan: &Plan, regime: &mut Regime) {
        regime.top_off.level_offset += Volume::from_litres(self.litres_per_day(plan));
    }
    fn windows(&self, _: &Plan, begin: f64, end: f64) -> Vec<(f64, f64)> {
        // Every day the float stands a step farther off.
        let steps = (end - begin).min(LONGEST_D).ceil().max(1.0);
        std::iter::successors(Some(0.0), |k| Some(k + 1.0))
            .take_while(|k| *k < steps)
            .map(|k| (begin + k, end))
            .collect()
    }
}
