//! New water mixed too strong.

use super::Fault;
use super::words::signed;
use crate::model::{Plan, Regime};

/// By how much \[psu\]: a cup too many in a bucket (common practice, no source).
const STRONGER_PSU: f64 = 2.0;

/// New water mixed too strong.
#[derive(Clone, Copy, Debug)]
pub(super) struct BatchStrong(
    /// Times the usual size.
    pub f64,
);

impl Fault for BatchStrong {
    fn key(&self) -> &'static str {
        "batch-too-strong"
    }
    fn title(&self) -> &'static str {
        "batch too strong"
    }
    fn size(&self, _: &Plan) -> String {
        format!("{} psu", signed(self.0 * STRONGER_PSU))
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_changes(plan)
    }
    fn bend(&self, _: &Plan, regime: &mut Regime) {
        for change in &mut regime.changes {
            change.batch_offset_psu += self.0 * STRONGER_PSU;
        }
    }
}
