//! A glass hydrometer cut for 60 F, read in warm water without its table.

use std::sync::Arc;

use super::Fault;
use crate::instruments::{Body, Errors, Hydrometer};
use crate::model::{Plan, Regime};
use crate::seawater::Pair;
use crate::solutes::View;

/// A glass hydrometer cut for 60 F, read in warm water without its table.
#[derive(Clone, Copy, Debug)]
pub(super) struct MeterPair;

impl Fault for MeterPair {
    fn key(&self) -> &'static str {
        "meter-read-at-the-wrong-temperature"
    }
    fn title(&self) -> &'static str {
        "hydrometer at wrong temperature"
    }
    fn size(&self, _: &Plan, _: &View) -> String {
        "cut for 60F/60F, not corrected".into()
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_changes(plan)
    }
    fn modify(&self, plan: &Plan, regime: &mut Regime) {
        super::mix_by(
            plan,
            regime,
            &Arc::new(Hydrometer { pair: Pair::F60, body: Body::Glass, corrected: false, errors: Errors::default() }),
        );
    }
}
