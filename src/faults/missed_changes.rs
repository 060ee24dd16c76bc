//! Changes left out.

use super::Fault;
use crate::model::{Plan, Regime};
use crate::solutes::View;

/// Changes left out.
#[derive(Clone, Copy, Debug)]
pub(super) struct MissedChanges;

impl Fault for MissedChanges {
    fn key(&self) -> &'static str {
        "missed-changes"
    }
    fn title(&self) -> &'static str {
        "changes missed"
    }
    fn size(&self, _: &Plan, _: &View) -> String {
        "every change in this time".into()
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_changes(plan)
    }
    fn modify(&self, _: &Plan, regime: &mut Regime) {
        for change in &mut regime.changes {
            change.skipped = true;
        }
    }
}
