//! The answer of `rescue` in words.

use super::answer::RescueAnswer;
use crate::app::Loaded;
use crate::app::answer::answers_itself;
use crate::export::warnings_text;
use crate::solutes::View;
use crate::units::{significant, trimmed};

answers_itself!(RescueAnswer, Loaded, "rescue", |a, of, _| text(a, &of.scenario.view()));

pub(super) fn text(answer: &RescueAnswer, view: &View) -> String {
    let of = view.of(&answer.of, &answer.unit);
    let (litres, warmth, alkalinity) = (view.units.shown("L"), view.units.shown("°C"), view.of("alkalinity", "meq/L"));
    let mut text = format!(
        "{}, {} basis: {} from {} to {} {} with new water at {} ({} % of the old water left)\n\n",
        answer.scenario,
        answer.basis,
        answer.of,
        significant(of.value(answer.from), 4),
        significant(of.value(answer.to), 4),
        of.unit,
        significant(of.value(answer.new), 3),
        trimmed(100.0 * answer.share_left, 1)
    );
    text += &format!("{:<22}{:>7}{:>11}{:>11}  {:>27}\n", "", "", "", "", "one change moves at once");
    let rows = [
        ["", "each", "new water", "ready", "salinity", "temp.", "alkalinity"],
        ["", "%", &litres.unit, "", "psu", &warmth.unit, &alkalinity.unit],
    ];
    for [name, share, water, ready, psu, step, alk] in rows {
        text += format!("{name:<22}{share:>7}{water:>11}{ready:>11}{psu:>9}{step:>8}{alk:>12}").trim_end();
        text += "\n";
    }
    for r in &answer.rungs {
        let name = match r.changes {
            0 => "continuous exchange".to_owned(),
            1 => "1 change".to_owned(),
            n => format!("{n} equal changes"),
        };
        let ready = match r.ready_d {
            Some(0.0) => "now".into(),
            Some(d) => format!("day {}", trimmed(d, 1)),
            None => "never".into(),
        };
        let (share, psu, step, alk) = if r.changes == 0 {
            ("-".into(), "slow".into(), "slow".into(), "slow".into())
        } else {
            (
                trimmed(100.0 * r.share, 1),
                format!("{:+.2}", r.salinity_step_psu),
                format!("{:+.1}", warmth.step(r.temperature_step_c)),
                r.alkalinity_step.map_or("-".into(), |a| format!("{:+.2}", alkalinity.step(a))),
            )
        };
        let water = significant(litres.value(r.litres), 4);
        text += &format!("{name:<22}{share:>7}{water:>11}{ready:>11}{psu:>9}{step:>8}{alk:>12}\n");
    }
    text += "(new water: in all; ready: when there is enough of it)\n";
    text += &by_day(answer, view);
    text += "Mixing alone is reckoned: what rock and sand hold comes back, and what is still coming in goes on. Test again before and after every change.\n";
    text + &warnings_text(&answer.warnings)
}

/// Changing each day what stands ready, and waiting for one large change instead.
fn by_day(answer: &RescueAnswer, view: &View) -> String {
    if answer.by_day.is_empty() {
        return String::new();
    }
    let of = view.of(&answer.of, &answer.unit);
    let litres = view.units.shown("L");
    let number = |v: f64| significant(of.value(v), 3);
    let mut text = "\nChanging each day what stands ready".to_owned();
    if answer.load_per_d > 0.0 {
        text += &format!(", {} {}/d still coming in", number(answer.load_per_d), of.unit);
    }
    text +=
        &format!(":\n{:>6}{:>12}{:>16}{:>22}\n", "day", format!("new {}", litres.unit), "then", "exposure by the next");
    text += &format!("{:>6}{:>12}{:>16}{:>22}\n", "", "", of.unit, format!("{} x d", of.unit));
    for d in &answer.by_day {
        let water = significant(litres.value(d.litres), 3);
        text += &format!("{:>6}{water:>12}{:>16}{:>22}\n", d.day, number(d.after), number(d.exposure));
    }
    if let Some(wait) = &answer.waiting {
        text += &format!(
            "One change of {} % instead means waiting until day {}. By then the animals have had {} {} x d; after it {} {} are left.\n",
            trimmed(100.0 * wait.share, 0),
            trimmed(wait.ready_d, 1),
            number(wait.exposure),
            of.unit,
            number(wait.after),
            of.unit
        );
    }
    text + "\n"
}
