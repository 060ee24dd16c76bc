//! The answer of `mix-to` in words.

use super::answer::MixToAnswer;
use crate::app::Loaded;
use crate::app::answer::answers_itself;
use crate::export::warnings_text;
use crate::solutes::View;
use crate::units::significant;

answers_itself!(MixToAnswer, Loaded, "mix-to", |a, of, _| text(a, &of.scenario.view()));

pub(super) fn text(answer: &MixToAnswer, view: &View) -> String {
    let mut text = format!("{}: {} basis, new water `{}`\n", answer.scenario, answer.basis, answer.water);
    for line in &answer.lines {
        let shown = view.of(&line.key, &line.unit);
        // A target that was typed on another scale is answered on it too.
        let beside = |psu| match &answer.meter {
            Some(meter) if line.key == "salinity" => meter.beside(psu),
            _ => String::new(),
        };
        let number = |v: f64| significant(shown.value(v), 4);
        let say = |v: f64| number(v) + &beside(v);
        text += &format!(
            "Mix the {} to {} {}{} to hold a mean of {}.\n  Mixed to {} the tank would settle near {}; as the scenario has it, near {}.\n",
            line.key,
            number(line.mix_to),
            shown.unit,
            beside(line.mix_to),
            say(line.target),
            number(line.target),
            say(line.settles_at_target),
            say(line.settles_as_is)
        );
        if let Some(brings) = line.mix_brings {
            text += &format!("  At that salinity the mix brings {} {} by itself", number(brings), shown.unit);
            text += &line.soda_g_per_l.map_or(".\n".into(), |grams| {
                format!(
                    "; the rest is {} g of NaHCO3 in a litre of it, or as much by another way.\n",
                    significant(grams, 2)
                )
            });
        }
    }
    text + &warnings_text(&answer.warnings)
}
