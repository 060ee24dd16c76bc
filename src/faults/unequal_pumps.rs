//! The exchange pump that brings in more than it takes out.

use super::Fault;
use crate::model::{Plan, Regime};
use crate::solutes::View;

/// By how much (common practice, no source).
const MORE: f64 = 0.05;

/// The exchange pump that brings in more than it takes out.
#[derive(Clone, Copy, Debug)]
pub(super) struct UnequalPumps(
    /// Times the usual size.
    pub f64,
);

impl Fault for UnequalPumps {
    fn key(&self) -> &'static str {
        "unequal-exchange-pumps"
    }
    fn title(&self) -> &'static str {
        "exchange pumps unequal"
    }
    fn size(&self, plan: &Plan, view: &View) -> String {
        let flows = plan
            .regime
            .exchange
            .map(|e| (e.inflow.litres_per_day() * (1.0 + self.0 * MORE), e.outflow.litres_per_day()));
        let flow = |litres| view.say("flow", litres, "L/d", 3);
        flows.map_or(String::new(), |(come, go)| format!("{} in, {} out", flow(come), flow(go)))
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        plan.regime.exchange.is_none().then_some("there is no continuous exchange")
    }
    fn modify(&self, _: &Plan, regime: &mut Regime) {
        if let Some(exchange) = &mut regime.exchange {
            exchange.inflow = exchange.inflow * (1.0 + self.0 * MORE);
        }
    }
}
