//! The waste line of the exchange blocked: water comes in and none goes out.

use super::Cap;
use super::Fault;
use crate::model::{Plan, Regime};
use crate::solutes::View;
use crate::units::VolumeRate;

/// The waste line of the exchange blocked: water comes in and none goes out.
#[derive(Clone, Copy, Debug)]
pub(super) struct WasteBlocked;

impl Fault for WasteBlocked {
    fn key(&self) -> &'static str {
        "waste-line-blocked"
    }
    fn title(&self) -> &'static str {
        "exchange waste line blocked"
    }
    fn size(&self, _: &Plan, _: &View) -> String {
        "nothing goes out".into()
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        plan.regime.exchange.is_none().then_some("there is no continuous exchange")
    }
    fn modify(&self, _: &Plan, regime: &mut Regime) {
        if let Some(exchange) = &mut regime.exchange {
            exchange.outflow = VolumeRate::default();
        }
    }
    fn inflow_l_per_d(&self, plan: &Plan) -> Option<f64> {
        plan.regime.exchange.map(|e| e.inflow.litres_per_day())
    }
    fn caps(&self) -> &'static [Cap] {
        &[Cap::SecondFloat]
    }
}
