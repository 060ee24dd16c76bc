//! `[calcification]`: what stony animals lay down as carbonate, as one uptake of alkalinity, calcium and magnesium.

use crate::chemicals::{CALCIUM_G_PER_MOL, MAGNESIUM_G_PER_MOL};
use crate::model::{Listed, SoluteId, Species};
use crate::scenario::reader::Section;
use crate::solutes::{LoadText, find, parse_load};
use crate::units::Fraction;

/// Most that is laid down \[meq/L a day\]: 20 dKH, ten times what the densest of tanks take (common practice, no source).
const MOST_MEQ_PER_L: f64 = 7.132998;

/// Reads the demand and lays it on the solutes; gives the calcium and magnesium that leave the salt with it \[kg/d\].
///
/// Two equivalents of alkalinity go with a mole of calcium or magnesium: 20.04 mg of calcium a milliequivalent.
pub(in crate::scenario) fn calcification(
    section: &Section<'_>,
    litres: f64,
    species: &mut Listed<SoluteId, Species>,
) -> f64 {
    let demand = section
        .value(
            "alkalinity",
            "Alkalinity that calcification takes; calcium goes with it, 20.04 mg a milliequivalent.",
            "a load of alkalinity",
            "1.2 dKH/d",
            move |t| {
                let solute = find("alkalinity").ok_or("alkalinity is not tracked")?;
                Ok(match parse_load(solute, t).map_err(|e| e.to_string())? {
                    LoadText::Amount(meq) => meq,
                    LoadText::PerLitre(rise) => rise * litres,
                })
            },
        )
        .check("0 to 20 dKH/d", move |meq| (0.0..=MOST_MEQ_PER_L * litres * (1.0 + 1e-9)).contains(meq));
    let demand = if section.is_given() || section.reader.describing { demand.required() } else { demand.optional() };
    let share = section
        .quantity::<Fraction>("magnesium", "Share of the moles laid down that is magnesium and not calcium.")
        .like("3 %")
        .between(0.0, 0.5)
        .or("0 %");
    section.finish();
    let Some(meq) = demand else { return 0.0 };
    let magnesium = share.unwrap_or_default().ratio();
    let calcium_mg = 0.5 * CALCIUM_G_PER_MOL * (1.0 - magnesium) * meq;
    let magnesium_mg = 0.5 * MAGNESIUM_G_PER_MOL * magnesium * meq;
    for (key, amount) in [("alkalinity", meq), ("calcium", calcium_mg), ("magnesium", magnesium_mg)] {
        if let Some(i) = species.find(|s| s.solute.key == key) {
            species[i].uptake_per_day += amount;
            species[i].calcified_per_day = amount;
        }
    }
    1e-6 * (calcium_mg + magnesium_mg)
}
