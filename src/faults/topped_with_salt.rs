//! Evaporation made up by hand with salt water.

use super::Fault;
use crate::model::{Plan, Regime, WaterId};
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
        super::not_by_hand(plan)
    }
    fn modify(&self, _: &Plan, regime: &mut Regime) {
        regime.top_off.water = WaterId::SALT_WATER;
    }
}
