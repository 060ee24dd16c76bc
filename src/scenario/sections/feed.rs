//! `[feed]`: nitrogen and phosphorus from food.

use super::Context;
use crate::model::{Listed, SoluteId};
use crate::scenario::reader::{Section, nearest};
use crate::units::{Fraction, MassRate};

/// Nitrogen in protein: 16 %, the factor 6.25 of food analysis (Jones 1931, USDA Circular 183).
const NITROGEN_IN_PROTEIN: f64 = 0.16;
const MG_PER_KG: f64 = 1e6;

/// Amount of each solute that the feed brings \[amount/d\].
pub(super) fn feed(section: &Section<'_>, context: &Context<'_>) -> Listed<SoluteId, f64> {
    let mut loads: Listed<SoluteId, f64> = context.species.iter().map(|_| 0.0).collect();
    let food =
        section.quantity::<MassRate>("food", "Food given, as it comes from the packet.").not_negative().or("0 g/d");
    let protein = section
        .quantity::<Fraction>("protein", "Share of protein in the food.")
        .like("45 %")
        .between(0.0, 1.0)
        .or("45 %");
    let released = section
        .quantity::<Fraction>("nitrogen_released", "Share of the food's nitrogen that ends in the water.")
        .like("60 %")
        .between(0.0, 1.0)
        .or("60 %");
    let into = section
        .value(
            "nitrogen_as",
            "The solute that the nitrogen becomes; ammonia where it is tracked, else nitrate.",
            "the name of a nitrogen solute",
            "nitrate",
            |t| Ok(t.to_owned()),
        )
        .optional();
    let phosphorus = section
        .quantity::<Fraction>("phosphorus", "Share of phosphorus in the food.")
        .like("1 %")
        .between(0.0, 0.2)
        .or("1 %");
    let phosphorus_released = section
        .quantity::<Fraction>(
            "phosphorus_released",
            "Share of the food's phosphorus that stays in the water; rock and sand bind the rest.",
        )
        .like("20 %")
        .between(0.0, 1.0)
        .or("20 %");
    section.finish();
    let (Some(food), Some(protein), Some(released)) = (food, protein, released) else { return loads };
    let into = into
        .unwrap_or_else(|| if context.solute("ammonia").is_some() { "ammonia".into() } else { "nitrate".to_owned() });
    let nitrogen_mg = food.kg_per_day() * MG_PER_KG * protein.ratio() * NITROGEN_IN_PROTEIN * released.ratio();
    let target = context.solute(&into).and_then(|i| context.species[i].solute.nitrogen.map(|share| (i, share)));
    match target {
        Some((i, share)) => loads[i] += nitrogen_mg / share,
        None if section.has("nitrogen_as") => {
            let known = context.species.iter().filter(|s| s.solute.nitrogen.is_some()).map(|s| s.solute.key.as_ref());
            section.complain(
                "nitrogen_as",
                format!("`{into}` is no tracked nitrogen solute"),
                Some(nearest(&into, known)),
            );
        }
        None => {}
    }
    if let Some((i, share)) =
        context.solute("phosphate").and_then(|i| context.species[i].solute.phosphorus.map(|p| (i, p)))
    {
        let share_kept = phosphorus.unwrap_or_default().ratio() * phosphorus_released.unwrap_or_default().ratio();
        loads[i] += food.kg_per_day() * MG_PER_KG * share_kept / share;
    }
    loads
}
