//! The supply of the exchange run empty: water goes out and none comes in.

use super::Fault;
use crate::model::{Plan, Regime};
use crate::solutes::View;
use crate::units::VolumeRate;

/// The supply of the exchange run empty: water goes out and none comes in.
#[derive(Clone, Copy, Debug)]
pub(super) struct SupplyEmpty;

impl Fault for SupplyEmpty {
    fn key(&self) -> &'static str {
        "supply-run-empty"
    }
    fn title(&self) -> &'static str {
        "exchange supply run empty"
    }
    fn size(&self, _: &Plan, _: &View) -> String {
        "nothing comes in".into()
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        plan.regime.exchange.is_none().then_some("there is no continuous exchange")
    }
    fn modify(&self, _: &Plan, regime: &mut Regime) {
        if let Some(exchange) = &mut regime.exchange {
            exchange.inflow = VolumeRate::default();
        }
    }
}
