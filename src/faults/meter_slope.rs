//! A meter with a slope error, set on fresh water only.

use std::sync::Arc;

use super::Fault;
use super::words::signed;
use crate::instruments::{Errors, Straight};
use crate::model::{Plan, Regime};
use crate::solutes::View;

/// Its slope error: 2 to 4 % where a refractometer is set on fresh water only (common practice, no source).
const SLOPE: f64 = 0.04;

/// A meter with a slope error, set on fresh water only.
#[derive(Clone, Copy, Debug)]
pub(super) struct MeterSlope(
    /// Times the usual size.
    pub f64,
);

impl Fault for MeterSlope {
    fn key(&self) -> &'static str {
        "meter-off-by-its-slope"
    }
    fn title(&self) -> &'static str {
        "meter off by its slope"
    }
    fn size(&self, _: &Plan, _: &View) -> String {
        format!("{} %", signed(100.0 * self.0 * SLOPE))
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_changes(plan)
    }
    fn modify(&self, plan: &Plan, regime: &mut Regime) {
        super::mix_by(plan, regime, &Arc::new(Straight(Errors { slope: self.0 * SLOPE, ..Errors::default() })));
    }
}
