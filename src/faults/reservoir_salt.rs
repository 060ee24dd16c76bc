//! The top-off reservoir filled with salt water.

use super::Fault;
use crate::model::{Plan, Regime, WaterId};
use crate::solutes::View;

/// The top-off reservoir filled with salt water.
#[derive(Clone, Copy, Debug)]
pub(super) struct ReservoirSalt;

impl Fault for ReservoirSalt {
    fn key(&self) -> &'static str {
        "reservoir-filled-with-salt-water"
    }
    fn title(&self) -> &'static str {
        "reservoir filled with salt water"
    }
    fn size(&self, plan: &Plan, _: &View) -> String {
        format!("{} as top-off", plan.waters[WaterId::SALT_WATER].name.replace('_', " "))
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_float(plan)
    }
    fn modify(&self, _: &Plan, regime: &mut Regime) {
        regime.top_off.water = WaterId::SALT_WATER;
    }
}
