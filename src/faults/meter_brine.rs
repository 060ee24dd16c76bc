//! A refractometer cut for sodium chloride brine, read as sea water.

use std::sync::Arc;

use super::Fault;
use crate::instruments::{Errors, Refractometer, RefractometerScale};
use crate::model::{Plan, Regime};
use crate::solutes::View;

/// A refractometer cut for sodium chloride brine, read as sea water.
#[derive(Clone, Copy, Debug)]
pub(super) struct MeterBrine;

impl Fault for MeterBrine {
    fn key(&self) -> &'static str {
        "meter-with-a-brine-scale"
    }
    fn title(&self) -> &'static str {
        "refractometer with a brine scale"
    }
    fn size(&self, _: &Plan, _: &View) -> String {
        "brine scale".into()
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_changes(plan)
    }
    fn modify(&self, plan: &Plan, regime: &mut Regime) {
        super::mix_by(
            plan,
            regime,
            &Arc::new(Refractometer { scale: RefractometerScale::Brine, compensated: true, errors: Errors::default() }),
        );
    }
}
