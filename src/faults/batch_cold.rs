//! New water colder than the tank.

use super::Fault;
use crate::model::Plan;
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
    fn note(&self, plan: &Plan, view: &View) -> Option<String> {
        let share = plan
            .regime
            .changes
            .iter()
            .map(|c| c.amount.of(plan.tank.operating) / plan.tank.operating)
            .fold(0.0, f64::max);
        let step = share * self.0 * COLDER_C;
        Some(format!(
            "each change cools the tank by {} at once; match the new water to within {}",
            view.units.temperature_step(step),
            view.units.temperature_step(MATCHED_C)
        ))
    }
}
