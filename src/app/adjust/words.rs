//! The answer of `adjust` in words.

use super::answer::AdjustAnswer;
use crate::app::answer::answers_itself;
use crate::export::warnings_text;
use crate::units::{InUnits, Mass, UnitSystem, Volume, trimmed};

answers_itself!(AdjustAnswer, UnitSystem, "adjust", |a, of, _| text(a, *of));

pub(super) fn text(a: &AdjustAnswer, units: UnitSystem) -> String {
    let litres = |l: f64| Volume::from_litres(l).show(units);
    let mut text = format!(
        "The reading means {} psu (± {}) in {}.\n",
        trimmed(a.true_psu, 2),
        trimmed(a.true_sd_psu, 1),
        litres(a.volume_l)
    );
    if a.remove_l > 1e-3 * a.volume_l {
        text += &format!("There is no room: take out {} first.\n", litres(a.remove_l));
    }
    if a.salt_mix_kg > 0.0 {
        let mix = Mass::from_kg(a.salt_mix_kg).show(units);
        text += &format!("Add {mix} of salt mix, dissolved first, slowly, into moving water.\n");
    } else if a.fresh_water_l > 0.0 {
        text += &format!("Add {} of purified water.\n", litres(a.fresh_water_l));
    } else {
        text += "Nothing to add.\n";
    }
    text += &format!(
        "It then is {} of {} psu. Stir, wait, read again before use.\n",
        litres(a.finished_l),
        trimmed(a.want_psu, 2)
    );
    text + &warnings_text(&a.warnings)
}
