//! Evaporation made up by hand with salt water.

use super::Fault;
use super::SALT_WATER;
use crate::model::{Method, Plan, Regime};
use crate::solutes::View;

/// Evaporation made up by hand with salt water.
#[derive(Clone, Copy, Debug)]
pub(super) struct ToppedWithSalt;

impl Fault for ToppedWithSalt {
    fn key(&self) -> &'static str {
        "evaporation-made-up-with-salt-water"
    }
    fn title(&self) -> &'static str {
        "topped off with salt water"
    }
    fn size(&self, _: &Plan, _: &View) -> String {
        "salt water as top-off".into()
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        (!matches!(plan.regime.top_off.method, Method::Hand(_))).then_some("it is not topped off by hand")
    }
    fn modify(&self, _: &Plan, regime: &mut Regime) {
        regime.top_off.water = SALT_WATER;
    }
}
