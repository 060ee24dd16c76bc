//! The float top-off left on while the level is down for a change.

use super::Cap;
use super::Fault;
use crate::model::{Plan, Regime};
use crate::solutes::View;

/// The float top-off left on while the level is down for a change.
#[derive(Clone, Copy, Debug)]
pub(super) struct TopOffOnChange;

impl Fault for TopOffOnChange {
    fn key(&self) -> &'static str {
        "top-off-on-during-change"
    }
    fn title(&self) -> &'static str {
        "top-off left on during a change"
    }
    fn size(&self, _: &Plan, _: &View) -> String {
        "every change in this time".into()
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_float(plan).or_else(|| super::no_changes(plan))
    }
    fn modify(&self, _: &Plan, regime: &mut Regime) {
        for change in &mut regime.changes {
            change.top_off_on = true;
        }
    }
    fn caps(&self) -> &'static [Cap] {
        &[Cap::SmallerReservoir, Cap::RunTimeLimit]
    }
}
