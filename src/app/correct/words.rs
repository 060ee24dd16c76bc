//! The answer of `correct` in words.

use super::answer::CorrectAnswer;
use crate::app::Loaded;
use crate::app::answer::answers_itself;
use crate::export::warnings_text;
use crate::solutes::View;
use crate::units::{significant, trimmed};

answers_itself!(CorrectAnswer, Loaded, "correct", |a, of, _| text(a, &of.scenario.view()));

pub(super) fn text(answer: &CorrectAnswer, view: &View) -> String {
    let meter = answer.meter.as_ref();
    let mut text = format!(
        "{}, {} basis: {} to {} psu{} by {} in {} d, {} psu/d (allowed {} psu/d)\n\n",
        answer.scenario,
        answer.basis,
        trimmed(answer.from_psu, 2),
        trimmed(answer.to_psu, 2),
        meter.map_or(String::new(), |m| m.beside(answer.to_psu)),
        answer.by,
        answer.days.len(),
        trimmed(answer.rate_psu_per_d, 2),
        trimmed(answer.allowed_psu_per_d, 2)
    );
    let litres = view.units.shown("L");
    let solutes: Vec<_> = answer.solutes.iter().take(MOST_COLUMNS - usize::from(meter.is_some())).collect();
    let shown: Vec<_> = solutes.iter().map(|(key, unit)| view.of(key, unit)).collect();
    text += &format!("{:>4}{:>11}{:>8}", "day", "new water", "mix to");
    text += &meter.map_or(String::new(), |_| format!("{:>13}", "or"));
    text += &format!("{:>10}{:>10}", "before", "evening");
    for (key, _) in &solutes {
        text += &format!("{:>12}", key.chars().take(11).collect::<String>());
    }
    text += &format!("\n{:>4}{:>11}{:>8}", "", litres.unit, "psu");
    text += &meter.map_or(String::new(), |m| format!("{:>13}", m.scale.name()));
    text += &format!("{:>10}{:>10}", "psu", "psu");
    for s in &shown {
        text += &format!("{:>12}", s.unit);
    }
    text += "\n";
    for d in &answer.days {
        text += &format!("{:>4}{:>11}{:>8}", d.day, significant(litres.value(d.litres), 3), trimmed(d.mix_psu, 1));
        text += &meter.map_or(String::new(), |m| format!("{:>13}", m.reading(d.mix_psu).unwrap_or("-".into())));
        text += &format!("{:>10}{:>10}", trimmed(d.before_psu, 2), trimmed(d.after_psu, 2));
        for (value, s) in d.solutes.iter().zip(&shown) {
            text += &format!("{:>12}", significant(s.value(*value), 3));
        }
        text += "\n";
    }
    text += &format!("\n{} of new water in all.\n", view.say("", answer.litres, "L", 3));
    text += "Top off to the mark first, and every day. The usual changes rest meanwhile; evaporation, skimmate and loads go on. Read the salinity every evening and stop where it moves faster than planned.\n";
    text + &warnings_text(&answer.warnings)
}

/// Solutes that fit in 80 columns.
const MOST_COLUMNS: usize = 3;
