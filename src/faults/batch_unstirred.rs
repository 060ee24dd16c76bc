//! A batch read before it was stirred, taken for weak, and salted again.

use super::Fault;
use super::words::signed;
use crate::model::{Plan, Regime};

/// By how much it reads low and is then over-salted \[psu\] (common practice, no source).
const MISREAD_PSU: f64 = 3.0;

/// A batch read before it was stirred, taken for weak, and salted again.
#[derive(Clone, Copy, Debug)]
pub(super) struct BatchUnstirred(
    /// Times the usual size.
    pub f64,
);

impl Fault for BatchUnstirred {
    fn key(&self) -> &'static str {
        "unstirred-batch-over-salted"
    }
    fn title(&self) -> &'static str {
        "unstirred batch over-salted"
    }
    fn size(&self, _: &Plan) -> String {
        format!("{} psu", signed(self.0 * MISREAD_PSU))
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_changes(plan)
    }
    fn bend(&self, _: &Plan, regime: &mut Regime) {
        for change in &mut regime.changes {
            change.batch_offset_psu += self.0 * MISREAD_PSU;
        }
    }
}
