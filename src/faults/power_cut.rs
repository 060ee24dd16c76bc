//! A power cut: no top-off, no exchange, no skimmer; evaporation goes on.

use super::Fault;
use crate::model::{FloatState, Plan, Regime};
use crate::solutes::View;
use crate::units::VolumeRate;

/// A power cut: no top-off, no exchange, no skimmer; evaporation goes on.
#[derive(Clone, Copy, Debug)]
pub(super) struct PowerCut;

impl Fault for PowerCut {
    fn key(&self) -> &'static str {
        "power-cut"
    }
    fn title(&self) -> &'static str {
        "power cut"
    }
    fn size(&self, _: &Plan, _: &View) -> String {
        "everything electrical stands".into()
    }
    fn bend(&self, _: &Plan, regime: &mut Regime) {
        regime.top_off.float = FloatState::StuckShut;
        regime.skimmate = VolumeRate::default();
        regime.exchange = None;
    }
    fn note(&self, _: &Plan, _: &View) -> Option<String> {
        Some("oxygen and temperature fail first, within hours: they are not modelled here; an air pump on a battery is the usual help".into())
    }
}
