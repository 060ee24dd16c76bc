//! A dead animal that nobody finds.

use super::Fault;
use crate::model::{Amounts, Plan, SoluteId, TankState};
use crate::results::Harm;
use crate::solutes::View;
use crate::units::trimmed;

/// Mass of the animal \[g\].
const ANIMAL_G: f64 = 50.0;
/// Nitrogen in a fish by wet mass: 17 % protein, of it 16 % (the first from memory, the second Jones 1931).
const NITROGEN: f64 = 0.17 * 0.16;

/// Total ammonia at which keepers act \[mg/L N\] (common practice, no source).
const AMMONIA_MG_N_PER_L: f64 = 0.5;

/// Where the nitrogen goes: ammonia where it is tracked, else nitrate.
fn nitrogen_solute(plan: &Plan) -> Option<SoluteId> {
    let find = |key: &str| plan.solute(key).filter(|i| plan.species[*i].solute.nitrogen.is_some());
    find("ammonia").or_else(|| find("nitrate"))
}

/// A dead animal that nobody finds.
#[derive(Clone, Copy, Debug)]
pub(super) struct DeadAnimal(
    /// Times the usual size.
    pub f64,
);

impl Fault for DeadAnimal {
    fn key(&self) -> &'static str {
        "dead-animal"
    }
    fn title(&self) -> &'static str {
        "dead animal unnoticed"
    }
    fn size(&self, _: &Plan, _: &View) -> String {
        format!(
            "{} g of fish, {} g of nitrogen",
            trimmed(self.0 * ANIMAL_G, 0),
            trimmed(self.0 * ANIMAL_G * NITROGEN, 2)
        )
    }
    fn cannot(&self, plan: &Plan) -> Option<&'static str> {
        nitrogen_solute(plan).is_none().then_some("no nitrogen solute is tracked")
    }
    fn harm(&self, plan: &Plan, _: f64, _: &View) -> Option<Harm> {
        // Where ammonia is tracked its band says it.
        let tracked = plan.species.iter().any(|s| s.solute.key == "ammonia");
        (!tracked).then(|| Harm {
            of: "total ammonia".into(),
            unit: "mg/L N".into(),
            worst: self.0 * ANIMAL_G * 1e3 * NITROGEN / plan.tank.operating.litres(),
            limit: AMMONIA_MG_N_PER_L,
            source: "if it is set free before bacteria use it; common practice, no source".into(),
        })
    }
    fn impulse(&self, plan: &Plan, tank: &TankState<'_>) -> Option<Amounts> {
        let i = nitrogen_solute(plan)?;
        let share = plan.species[i].solute.nitrogen?;
        let mut added = Amounts::none(tank.amounts.count());
        added[i] = self.0 * ANIMAL_G * 1e3 * NITROGEN / share;
        Some(added)
    }
}
