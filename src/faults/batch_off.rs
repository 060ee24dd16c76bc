//! New water that is off its salinity, for whatever reason.

use super::Fault;
use super::words::signed;
use crate::model::{Plan, Regime};
use crate::solutes::View;

/// New water that is off its salinity.
#[derive(Clone, Copy, Debug)]
pub(super) struct BatchOff {
    key: &'static str,
    title: &'static str,
    /// Usual size \[psu\].
    psu: f64,
    times: f64,
}

impl BatchOff {
    /// Mixed too strong: a cup too many in a bucket, 2 psu (common practice, no source).
    pub(super) const fn strong(times: f64) -> Self {
        Self { key: "batch-too-strong", title: "batch too strong", psu: 2.0, times }
    }

    /// Mixed too weak, 2 psu (common practice, no source).
    pub(super) const fn weak(times: f64) -> Self {
        Self { key: "batch-too-weak", title: "batch too weak", psu: -2.0, times }
    }

    /// Read before it was stirred, taken for weak and salted again: 3 psu (common practice, no source).
    pub(super) const fn unstirred(times: f64) -> Self {
        Self { key: "unstirred-batch-over-salted", title: "unstirred batch over-salted", psu: 3.0, times }
    }

    /// Stood open for a week, 0.2 psu a day (0.15 to 0.27; common practice, no source).
    pub(super) const fn open_store(times: f64) -> Self {
        Self { key: "open-store-evaporated", title: "open store evaporated", psu: 7.0 * 0.2, times }
    }
}

impl Fault for BatchOff {
    fn key(&self) -> &'static str {
        self.key
    }
    fn title(&self) -> &'static str {
        self.title
    }
    fn size(&self, _: &Plan, _: &View) -> String {
        format!("{} psu", signed(self.times * self.psu))
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_changes(plan)
    }
    fn modify(&self, _: &Plan, regime: &mut Regime) {
        for change in &mut regime.changes {
            change.batch_offset_psu += self.times * self.psu;
        }
    }
}
