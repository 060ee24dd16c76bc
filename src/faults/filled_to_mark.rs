//! The change filled to the mark, and with it what evaporated since the last one.

use super::Fault;
use crate::model::{Fill, Plan, Regime};
use crate::solutes::View;

/// The change filled to the mark, and with it what evaporated since the last one.
#[derive(Clone, Copy, Debug)]
pub(super) struct FilledToMark;

impl Fault for FilledToMark {
    fn key(&self) -> &'static str {
        "change-filled-to-the-mark"
    }
    fn title(&self) -> &'static str {
        "change filled to the mark"
    }
    fn size(&self, _: &Plan, _: &View) -> String {
        "no top-off between changes".into()
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_changes(plan).or(super::not_by_hand(plan))
    }
    fn modify(&self, _: &Plan, regime: &mut Regime) {
        regime.top_off.stop();
        for change in &mut regime.changes {
            change.fill = Fill::ToMark;
        }
    }
}
