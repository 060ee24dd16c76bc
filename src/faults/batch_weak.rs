//! New water mixed too weak.

use super::Fault;
use super::words::signed;
use crate::model::{Plan, Regime};

/// By how much \[psu\] (common practice, no source).
const WEAKER_PSU: f64 = -2.0;

/// New water mixed too weak.
#[derive(Clone, Copy, Debug)]
pub(super) struct BatchWeak(
    /// Times the usual size.
    pub f64,
);

impl Fault for BatchWeak {
    fn key(&self) -> &'static str {
        "batch-too-weak"
    }
    fn title(&self) -> &'static str {
        "batch too weak"
    }
    fn size(&self, _: &Plan) -> String {
        format!("{} psu", signed(self.0 * WEAKER_PSU))
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_changes(plan)
    }
    fn bend(&self, _: &Plan, regime: &mut Regime) {
        for change in &mut regime.changes {
            change.batch_offset_psu += self.0 * WEAKER_PSU;
        }
    }
}
