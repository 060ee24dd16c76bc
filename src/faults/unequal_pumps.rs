//! The exchange pump that brings in more than it takes out.

use super::Fault;
use crate::model::{Plan, Regime};

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
    fn size(&self, _: &Plan) -> String {
        format!("{} % more in than out", 100.0 * self.0 * MORE)
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        plan.regime.exchange.is_none().then_some("there is no continuous exchange")
    }
    fn bend(&self, _: &Plan, regime: &mut Regime) {
        if let Some(exchange) = &mut regime.exchange {
            exchange.inflow = exchange.inflow * (1.0 + self.0 * MORE);
        }
    }
}
