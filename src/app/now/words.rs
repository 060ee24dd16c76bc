//! The answer of `now` in words.

use super::answer::{Leaves, Misfit, NowAction, NowAnswer, NowQuantity, NowResult};
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::export::warnings_text;
use crate::solutes::View;
use crate::units::{significant, trimmed};

impl Answer for NowResult {
    type Of = Loaded;
    type Data = NowAnswer;

    const COMMAND: &'static str = "now";

    fn data(&self) -> &NowAnswer {
        &self.answer
    }

    fn text(&self, of: &Loaded, width: usize) -> String {
        text(&self.answer, &of.scenario.view(), width)
    }

    fn cautions(&self) -> &[String] {
        &self.answer.cautions
    }

    fn page(&self, of: &Loaded) -> Result<Option<(String, String)>, AppError> {
        Ok(Some(("now.html".into(), self.report(of)?)))
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }
}

/// A value with its 90 %: `34.9 psu (34.4 to 35.4)`.
fn with_most(view: &View, q: &NowQuantity) -> String {
    let shown = view.of(&q.key, &q.unit);
    let number = |v: f64| significant(shown.value(v), 3);
    let most = q.most.map_or(String::new(), |m| format!(" ({} to {})", number(m[0]), number(m[1])));
    format!("{} {} {}{most}", q.key.replace('_', " "), number(q.value), shown.unit)
}

/// The answer in a sentence: what is known, and what leaves its band first.
pub(super) fn sentence(a: &NowAnswer, loaded: &Loaded) -> String {
    let view = loaded.scenario.view();
    let known: Vec<String> = a.quantities.iter().filter(|q| q.last.is_some()).map(|q| with_most(&view, q)).collect();
    let first = a
        .quantities
        .iter()
        .filter_map(|q| Some((q, q.leaves.as_ref()?)))
        .filter(|(_, l)| l.chance >= 0.05)
        .min_by(|a, b| days(a.1).total_cmp(&days(b.1)));
    let leaves = match first {
        Some((q, l)) if l.now >= 0.5 => {
            format!(
                "; {} is outside its band already, with a chance of {} %",
                q.key.replace('_', " "),
                trimmed(100.0 * l.now, 0)
            )
        }
        Some((q, l)) => format!("; {} leaves its band {}", q.key.replace('_', " "), when(l, a.ahead_d)),
        None if a.quantities.iter().any(|q| q.leaves.is_some()) => {
            format!("; every band is kept for {} d with more than 95 %", trimmed(a.ahead_d, 0))
        }
        None => String::new(),
    };
    if known.is_empty() {
        return format!(
            "On {}: nothing was read. What follows is what the scenario says, and how sure that is is not known.",
            a.at
        );
    }
    format!("On {}: {}{leaves}.", a.at, known.join(", "))
}

fn days(l: &Leaves) -> f64 {
    l.median_d.or(l.between_d[0]).unwrap_or(f64::INFINITY)
}

/// When a band is left, in words.
fn when(l: &Leaves, ahead_d: f64) -> String {
    let day = |d: f64| trimmed(d, 0);
    match (l.median_d, l.between_d) {
        (Some(median), _) if median < 0.5 => format!(
            "already with a chance of {} %, and within {} d with {} %",
            trimmed(100.0 * l.now, 0),
            day(ahead_d),
            trimmed(100.0 * l.chance, 0)
        ),
        (Some(median), [Some(low), Some(high)]) => format!("in {} d ({} to {} d)", day(median), day(low), day(high)),
        (Some(median), [Some(low), None]) => {
            format!("in {} d ({} d to beyond {} d)", day(median), day(low), day(ahead_d))
        }
        _ => format!("within {} d with a chance of {} %", day(ahead_d), trimmed(100.0 * l.chance, 0)),
    }
}

fn doing(action: &NowAction, view: &View) -> String {
    let litres = view.say("", action.litres, "L", 3);
    let mixed = if action.changes > 1 {
        format!("in {} changes, mixed as they are named", action.changes)
    } else if (action.mix_psu - action.named_psu).abs() < 0.05 {
        format!("mixed to {} as usual", view.say("salinity", action.mix_psu, "psu", 3))
    } else {
        format!(
            "mixed to {} instead of {}",
            view.say("salinity", action.mix_psu, "psu", 3),
            view.say("salinity", action.named_psu, "psu", 3)
        )
    };
    let after: Vec<String> = action
        .after
        .iter()
        .map(|q| {
            let shown = view.of(&q.key, &q.unit);
            let number = |v: f64| significant(shown.value(v), 3);
            format!(
                "{} {} {}, {} to {}",
                q.key.replace('_', " "),
                number(q.value),
                shown.unit,
                number(q.most[0]),
                number(q.most[1])
            )
        })
        .collect();
    format!("Next: {}: {litres} {mixed}; then {}.", action.when, after.join("; "))
}

/// What to do next and what to read, a sentence each.
pub(super) fn what_to_do(a: &NowAnswer, view: &View) -> Vec<String> {
    let reading = a.next.first().map(|best| {
        let shown = view.of(&best.of, &best.unit);
        let [now, then] = best.narrowed.map(|half| format!("±{} {}", significant(shown.step(half), 2), shown.unit));
        format!(
            "Read next: {}. The {} is known to {now} (90 %) now, and to {then} with it.",
            best.what,
            best.of.replace('_', " ")
        )
    });
    a.action.iter().map(|action| doing(action, view)).chain(reading).collect()
}

/// A reading that does not fit, in a sentence.
pub(super) fn does_not_fit(m: &Misfit, view: &View) -> String {
    let shown = view.of(&m.what, &m.unit);
    format!(
        "{}: {} of {} {} where {} was expected ({} deviations off): {}.",
        m.when,
        m.what.replace('_', " "),
        significant(shown.value(m.read), 3),
        shown.unit,
        significant(shown.value(m.expected), 3),
        trimmed(m.deviations, 1),
        m.verdict
    )
}

fn text(a: &NowAnswer, view: &View, width: usize) -> String {
    let fill = |text: &str| {
        textwrap::fill(text, textwrap::Options::new(width).subsequent_indent("  ").break_words(false)) + "\n"
    };
    let mut text = format!("{}, {} basis, {} rows\n\n", a.scenario, a.basis, a.rows);
    text += &fill(&a.answer);
    for line in what_to_do(a, view) {
        text += &fill(&line);
    }
    text += &format!("\n{:<14}{:>12}{:>18}{:>18}  {}\n", "", "now", "50 %", "90 %", "last reading");
    for q in &a.quantities {
        let shown = view.of(&q.key, &q.unit);
        let number = |v: f64| significant(shown.value(v), 3);
        let range = |r: Option<[f64; 2]>| r.map_or("-".into(), |r| format!("{} to {}", number(r[0]), number(r[1])));
        let last =
            q.last.as_ref().map_or("never: as the scenario says".into(), |l| format!("{} {}", number(l.read), l.when));
        text += &format!(
            "{:<14}{:>12}{:>18}{:>18}  {last}\n",
            q.key.replace('_', " "),
            format!("{} {}", number(q.value), shown.unit),
            range(q.half),
            range(q.most)
        );
    }
    if !a.misfits.is_empty() {
        text += "\nReadings that do not fit:\n";
    }
    for m in &a.misfits {
        text += &fill(&format!("  {}", does_not_fit(m, view)));
    }
    text += "\n";
    text += &fill(&a.understood);
    text + &warnings_text(&a.warnings)
}
