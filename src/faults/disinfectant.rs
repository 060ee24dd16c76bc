//! Chlorine or chloramine that breaks through the carbon: its mass alone, no effect is modelled.

use super::Fault;
use crate::model::Plan;
use crate::results::Harm;
use crate::solutes::View;
use crate::units::{significant, trimmed};

/// Total chlorine of tap water \[mg/L\] (0.2 to 4; common practice, no source).
const MG_PER_L: f64 = 2.0;
/// Guideline for chlorine-produced oxidants in marine water, 99 % of species: Wallis & Chidgey 2022, Water e-Journal 8(1).
const GUIDELINE_UG_PER_L: f64 = 12.0;

/// Chlorine or chloramine that breaks through the carbon: its mass alone, no effect is modelled.
#[derive(Clone, Copy, Debug)]
pub(super) struct Disinfectant(
    /// Times the usual size.
    pub f64,
);

impl Fault for Disinfectant {
    fn key(&self) -> &'static str {
        "disinfectant-breaks-through"
    }
    fn title(&self) -> &'static str {
        "disinfectant breaks through"
    }
    fn size(&self, _: &Plan, _: &View) -> String {
        format!("{} mg/L in the new water", trimmed(self.0 * MG_PER_L, 1))
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        super::no_changes(plan)
    }
    fn harm(&self, plan: &Plan, _: f64, _: &View) -> Option<Harm> {
        Some(Harm {
            of: "total chlorine".into(),
            unit: "ug/L".into(),
            worst: 1e3 * self.brought_mg(plan) / plan.tank.operating.litres(),
            limit: GUIDELINE_UG_PER_L,
            source: "guideline for the sea, Wallis & Chidgey 2022".into(),
        })
    }
    fn note(&self, plan: &Plan, _: &View) -> Option<String> {
        Some(format!(
            "one change brings {} mg; test total chlorine 0 before use, and follow the maker's instructions for any treatment",
            significant(self.brought_mg(plan), 3)
        ))
    }
}

impl Disinfectant {
    /// What the largest change brings \[mg\].
    fn brought_mg(self, plan: &Plan) -> f64 {
        let litres = plan.regime.changes.iter().map(|c| c.amount.of(plan.tank.operating).litres()).fold(0.0, f64::max);
        litres * self.0 * MG_PER_L
    }
}
