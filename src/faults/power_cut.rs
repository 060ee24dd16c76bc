//! A power cut: no top-off, no exchange, no skimmer; evaporation goes on.

use super::Fault;
use crate::model::{FloatState, Plan, Regime};
use crate::results::Harm;
use crate::solutes::View;

/// How long a stocked tank does without movement and air \[h\] (common practice, no source; it depends on the animals).
const HOURS_WITHOUT_AIR: f64 = 6.0;

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
    fn modify(&self, _: &Plan, regime: &mut Regime) {
        regime.top_off.float = FloatState::StuckShut;
        regime.stop_pumped_outflows();
        regime.exchange = None;
    }
    fn harm(&self, _: &Plan, days: f64, _: &View) -> Option<Harm> {
        Some(Harm {
            of: "hours of no air".into(),
            unit: "h".into(),
            worst: 24.0 * days,
            limit: HOURS_WITHOUT_AIR,
            source: "common practice, no source".into(),
        })
    }
    fn shows(&self) -> Option<&'static str> {
        Some("everything stands")
    }
    fn note(&self, _: &Plan, _: &View) -> Option<String> {
        Some("oxygen and temperature fail first, within hours: they are not modelled here; an air pump on a battery is the usual help".into())
    }
}
