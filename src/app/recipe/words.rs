//! The answer of `recipe` in words.

use crate::app::recipe::answer::RecipeAnswer;
use crate::export::warnings_text;
use crate::units::{InUnits, Mass, UnitSystem, Volume, trimmed};

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
