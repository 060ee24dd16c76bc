//! The answer of `treat` in words.

use super::answer::TreatAnswer;
use crate::app::Loaded;
use crate::app::answer::answers_itself;
use crate::export::warnings_text;
use crate::solutes::View;
use crate::units::{significant, trimmed};

answers_itself!(TreatAnswer, Loaded, "treat", |a, of, _| text(a, &of.scenario.view()));

/// Medicines that fit in 80 columns.
const MOST_COLUMNS: usize = 2;

fn text(a: &TreatAnswer, view: &View) -> String {
    let last = |phase: &str| a.days.iter().rev().find(|d| d.phase == phase).map(|d| d.day);
    let (end, up) = (a.days.last().map_or(0, |d| d.day), last("up").is_some());
    let mut text = format!("{}: held at {} psu for {} d", a.scenario, trimmed(a.at_psu, 2), a.hold_d);
    if let Some(down) = last("down") {
        text += &format!(", from the evening of day {down} on");
    }
    if up {
        text += &format!("; back at {} psu on day {end}", trimmed(a.from_psu, 2));
    }
    text += ".\n";
    if up {
        text += &format!(
            "For {}: at most {} psu a day down and {} up.\n",
            a.animals,
            trimmed(a.down_psu_per_d, 2),
            trimmed(a.up_psu_per_d, 2)
        );
    }
    for m in &a.medicines {
        let shown = view.of(&m.name, &m.held_unit);
        text += &format!(
            "Keep {} at {} {}. That takes {} {} in all: dose it by the table, for each change takes some out.\n",
            m.name,
            significant(shown.value(m.held_at), 3),
            shown.unit,
            significant(m.in_all, 3),
            m.unit
        );
    }
    let litres = view.units.shown("L");
    let columns: Vec<_> = a.medicines.iter().take(MOST_COLUMNS).collect();
    let head = |text: &str| format!("{:>16}", text.chars().take(15).collect::<String>());
    text += &format!("\n{:>4}  {:<6}{:>11}{:>8}{:>10}", "day", "", "new water", "mix to", "evening");
    text += &columns.iter().map(|m| head(&format!("dose {}", m.name))).collect::<String>();
    text += &format!("\n{:>4}  {:<6}{:>11}{:>8}{:>10}", "", "", litres.unit, "psu", "psu");
    text += &columns.iter().map(|m| head(&m.unit)).collect::<String>();
    text += "\n";
    for d in &a.days {
        let (water, mix) = if d.litres > 0.0 {
            (significant(litres.value(d.litres), 3), trimmed(d.mix_psu, 1))
        } else {
            ("-".into(), "-".into())
        };
        text += &format!("{:>4}  {:<6}{water:>11}{mix:>8}{:>10}", d.day, d.phase, trimmed(d.evening_psu, 2));
        for dose in d.doses.iter().take(columns.len()) {
            text += &head(&if *dose > 0.0 { significant(*dose, 3) } else { "-".into() });
        }
        text += "\n";
    }
    if a.medicines.len() > columns.len() {
        text += "(more medicines: see --format json)\n";
    }
    text += &format!("\n{} of new water in all.\n", view.say("", a.litres, "L", 3));
    text += "Read the salinity every evening, and test each medicine before it is dosed again: the test counts, not the plan. \
             What to treat with, how strong and how long is for a veterinarian and the maker's sheet; no carbon meanwhile.\n";
    text + &warnings_text(&a.warnings)
}
