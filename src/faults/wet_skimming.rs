//! A skimmer set too wet, what it takes made up with fresh water.

use super::Fault;
use super::words::rate;
use crate::model::{Plan, Regime, SKIMMATE};
use crate::solutes::View;
use crate::units::VolumeRate;

/// Wet skimmate a day as a share of the volume (0.05 to 0.2 %; common practice, no source).
const WET_SHARE: f64 = 0.002;

/// The wet flow: that share on top of the present flow.
fn wet(plan: &Plan, times: f64) -> VolumeRate {
    let now = plan.regime.outflow(&SKIMMATE).litres_per_day();
    VolumeRate::from_litres_per_day(now + times * WET_SHARE * plan.tank.operating.litres())
}

/// A skimmer set too wet, what it takes made up with fresh water.
#[derive(Clone, Copy, Debug)]
pub(super) struct WetSkimming(
    /// Times the usual size.
    pub f64,
);

impl Fault for WetSkimming {
    fn key(&self) -> &'static str {
        "wet-skimming"
    }
    fn title(&self) -> &'static str {
        "skimmer set too wet"
    }
    fn size(&self, plan: &Plan, view: &View) -> String {
        format!("{} of skimmate", rate(wet(plan, self.0), view))
    }
    fn modify(&self, plan: &Plan, regime: &mut Regime) {
        regime.set_outflow(&SKIMMATE, wet(plan, self.0));
    }
}
