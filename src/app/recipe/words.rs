//! The answer of `recipe` in words.

use super::answer::RecipeResult;
use crate::app::Answer;
use crate::app::recipe::answer::RecipeAnswer;
use crate::chart::Picture;
use crate::export::warnings_text;
use crate::units::{InUnits, Mass, UnitSystem, Volume, trimmed};

impl Answer for RecipeResult {
    type Of = UnitSystem;
    type Data = RecipeAnswer;

    const COMMAND: &'static str = "recipe";

    fn data(&self) -> &RecipeAnswer {
        &self.answer
    }

    fn text(&self, of: &UnitSystem, _width: usize) -> String {
        text(&self.answer, *of)
    }

    fn cautions(&self) -> &[String] {
        &self.answer.cautions
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }

    fn notes(&self) -> Vec<String> {
        self.answer.left_out.clone()
    }
}

pub(super) fn text(a: &RecipeAnswer, units: UnitSystem) -> String {
    let strength = units.strength();
    let mut text = format!(
        "{}: {} batches\n\nFor {} psu: {} {unit} of mix to fresh water, {} {unit} in finished water, ± {} % (one standard error); a single batch scatters by {} %. Water in the mix: {} %.\n",
        a.scenario,
        a.batches,
        trimmed(a.salinity_psu, 2),
        trimmed(strength.value(a.grams_per_fresh_l), 2),
        trimmed(strength.value(a.grams_per_finished_l), 2),
        trimmed(100.0 * a.error, 1),
        trimmed(100.0 * a.scatter, 1),
        trimmed(100.0 * a.water_share, 1),
        unit = strength.unit
    );
    if let Some((mean, most)) = a.hours {
        text += &format!("Clear after {} h on the mean, {} h at most.\n", trimmed(mean, 1), trimmed(most, 1));
    }
    if let Some((mean, deviation)) = a.ph {
        text += &format!("pH when used: {} ± {}.\n", trimmed(mean, 2), trimmed(deviation, 2));
    }
    text += &format!(
        "Next batch of {}: about {} of mix in all; first dose {}, then stir, read, correct.\n",
        Volume::from_litres(a.next.0).show(units),
        Mass::from_kg(a.next.1).show(units),
        Mass::from_kg(a.next.2).show(units)
    );
    text += &warnings_text(&a.warnings);
    text
}
