//! A meter that shows too much, and to which the new water is mixed.

use std::sync::Arc;

use super::Fault;
use super::words::signed;
use crate::instruments::{Errors, Straight};
use crate::model::{Plan, Regime};
use crate::solutes::View;

/// Its bias \[psu\] (common practice, no source).
const BIAS_PSU: f64 = 1.0;

/// A meter that shows too much, and to which the new water is mixed.
#[derive(Clone, Copy, Debug)]
pub(super) struct MeterBias(
    /// Times the usual size.
    pub f64,
);

impl Fault for MeterBias {
    fn key(&self) -> &'static str {
        "meter-off-by-a-bias"
    }
    fn title(&self) -> &'static str {
        "meter shows too much"
    }
    fn size(&self, _: &Plan, _: &View) -> String {
        format!("{} psu", signed(self.0 * BIAS_PSU))
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_changes(plan)
    }
    fn modify(&self, plan: &Plan, regime: &mut Regime) {
        super::mix_by(plan, regime, &Arc::new(Straight(Errors { bias_psu: self.0 * BIAS_PSU, ..Errors::default() })));
    }
}
