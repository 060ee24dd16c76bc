//! `recipe`: the keeper's own grams for a litre, from the log of batches.

mod answer;
mod batch_log;
mod words;

pub use answer::{NextBatch, RecipeAnswer, RecipeResult, StrengthChange};
pub use batch_log::read_batch_log;

use std::path::Path;

use crate::app::AppError;
use crate::chart::{Head, Line, Picture, Series};
use crate::learn::{Recipe, learn_recipe};
use crate::results::{Caution, Warning};
use crate::sizing::{DoseState, DoseUncertainty, SaltMix, batch_of_finished};
use crate::units::{PracticalSalinity, Temperature, UnitSystem, Volume, significant, trimmed};

/// Learns the recipe from a log of batches; `next` is the finished volume of the next one, and the picture is in
/// a system of units.
pub fn recipe(
    path: &Path,
    label: SaltMix,
    salinity: PracticalSalinity,
    temperature: Temperature,
    next: Volume,
    units: UnitSystem,
) -> Result<RecipeResult, AppError> {
    let (rows, left_out) = read_batch_log(path)?;
    let fail = |e: &dyn std::fmt::Display| AppError::Usage(format!("{}: {e}", path.display()));
    let recipe = learn_recipe(&rows, label).map_err(|e| fail(&e))?;
    let mix = recipe.learned.mix;
    let one = batch_of_finished(Volume::from_litres(1.0), salinity, temperature, &mix, None).map_err(|e| fail(&e))?;
    let batch = batch_of_finished(next, salinity, temperature, &mix, None).map_err(|e| fail(&e))?;
    let uncertainty = DoseUncertainty { strength: mix.spread, ..DoseUncertainty::default() };
    let staged = DoseState::plan(salinity.psu(), uncertainty);
    let mut warnings = Vec::new();
    if let Some((at, by, chance)) = recipe.change {
        warnings.push(Warning::new(
            "new-strength",
            format!(
                "from batch {} on the mix is {} % {} (chance alone: {} %)",
                at + 1,
                trimmed(100.0 * by.abs(), 1),
                if by > 0.0 { "stronger" } else { "weaker" },
                trimmed(100.0 * chance, 2)
            ),
            "a new lot, or a damp one; the recipe is that of the batches since then",
        ));
    }
    let answer = RecipeAnswer {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        basis: "mass".into(),
        scenario: path.display().to_string(),
        batches: rows.len(),
        left_out,
        grams_per_fresh_l: one.salt_mix.kg() * 1e3 / one.fresh_water.litres(),
        grams_per_finished_l: one.salt_mix.kg() * 1e3,
        error: recipe.learned.error,
        scatter: mix.spread,
        salinity_psu: salinity.psu(),
        water_share: mix.water_share,
        hours: recipe.hours,
        ph: recipe.ph,
        change: recipe.change.map(|(batch, stronger, by_chance)| StrengthChange {
            batch: batch + 1,
            stronger,
            by_chance,
        }),
        next: NextBatch {
            finished_l: next.litres(),
            salt_mix_kg: batch.salt_mix.kg(),
            first_dose_kg: batch.salt_mix.kg() * staged.first_share,
        },
        warnings,
        cautions: [Caution::Planning, Caution::Dust].map(|c| c.text().to_owned()).to_vec(),
    };
    let pictures = vec![("recipe".to_owned(), picture(&recipe, label, &answer, units))];
    Ok(RecipeResult { answer, pictures })
}

fn picture(recipe: &Recipe, label: SaltMix, a: &RecipeAnswer, units: UnitSystem) -> Picture {
    let strength = units.strength();
    // Grams for a litre go with one over the share of salt.
    let grams = |salt: f64| strength.value(a.grams_per_fresh_l * (1.0 - a.water_share) / salt);
    let points = |off: f64| -> Vec<(f64, f64)> {
        recipe
            .course
            .iter()
            .enumerate()
            .map(|(k, (salt, error))| (k as f64, grams(salt * (1.0 + off * error))))
            .collect()
    };
    Picture::Series(Series {
        head: Head {
            finding: format!(
                "A batch of {} psu takes {} {} of mix in fresh water",
                trimmed(a.salinity_psu, 1),
                significant(strength.value(a.grams_per_fresh_l), 4),
                strength.unit
            ),
            question: "How much mix does fresh water take?".into(),
            note: format!(
                "shaded: two standard errors; batch 0 is the label ({} % of water)",
                trimmed(100.0 * label.water_share, 0)
            ),
        },
        x_label: "batches in the log".into(),
        y_label: format!("salt mix, {} of fresh water", strength.unit),
        unit: strength.unit.clone(),
        fans: vec![(points(2.0), points(-2.0))],
        lines: vec![Line::new("learned", points(0.0))],
        counted: true,
        ..Series::default()
    })
}
