//! New water colder than the tank.

use super::Fault;
use crate::model::{Change, Plan};
use crate::results::Harm;
use crate::solutes::View;

/// By how much \[C\] (common practice, no source).
const COLDER_C: f64 = 5.0;

/// How closely new water should be matched \[C\] (common practice, no source).
const MATCHED_C: f64 = 1.0;

/// New water colder than the tank.
#[derive(Clone, Copy, Debug)]
pub(super) struct BatchCold(
    /// Times the usual size.
    pub f64,
);

impl Fault for BatchCold {
    fn key(&self) -> &'static str {
        "batch-too-cold"
    }
    fn title(&self) -> &'static str {
        "batch too cold"
    }
    fn size(&self, _: &Plan, view: &View) -> String {
        format!("{} colder", view.units.temperature_step(self.0 * COLDER_C))
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_changes(plan)
    }
    fn harm(&self, plan: &Plan, _: f64, view: &View) -> Option<Harm> {
        let shown = view.units.shown("°C");
        Some(Harm {
            of: "temperature step".into(),
            worst: shown.step(self.step_c(plan)),
            limit: shown.step(MATCHED_C),
            unit: shown.unit,
            source: "common practice, no source".into(),
        })
    }
    fn note(&self, _: &Plan, view: &View) -> Option<String> {
        Some(format!("match the new water to within {}", view.units.temperature_step(MATCHED_C)))
    }
}

impl BatchCold {
    /// By how much the largest change cools the tank at once \[C\].
    fn step_c(self, plan: &Plan) -> f64 {
        let share = |c: &Change| c.amount.of(plan.tank.operating) / plan.tank.operating;
        plan.regime.changes.iter().map(share).fold(0.0, f64::max) * self.0 * COLDER_C
    }
}
