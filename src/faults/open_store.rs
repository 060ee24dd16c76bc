//! New water that stood open for a week before it was used.

use super::Fault;
use super::words::signed;
use crate::model::{Plan, Regime};

/// What an open store gains a day \[psu\] (0.15 to 0.27; common practice, no source).
const PER_DAY_PSU: f64 = 0.2;
/// How long it stood open \[d\].
const DAYS: f64 = 7.0;

/// New water that stood open for a week before it was used.
#[derive(Clone, Copy, Debug)]
pub(super) struct OpenStore(
    /// Times the usual size.
    pub f64,
);

impl Fault for OpenStore {
    fn key(&self) -> &'static str {
        "open-store-evaporated"
    }
    fn title(&self) -> &'static str {
        "open store evaporated"
    }
    fn size(&self, _: &Plan) -> String {
        format!("{} psu", signed(self.0 * PER_DAY_PSU * DAYS))
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_changes(plan)
    }
    fn bend(&self, _: &Plan, regime: &mut Regime) {
        for change in &mut regime.changes {
            change.batch_offset_psu += self.0 * PER_DAY_PSU * DAYS;
        }
    }
}
