//! The answer of `now` in words.

use super::answer::{Leaves, Misfit, NowAction, NowAnswer, NowQuantity, NowResult};
use crate::app::moment::said;
use crate::app::report::on_scenario;
use crate::app::{Answer, Loaded};
use crate::chart::Picture;
use crate::results::{Action, Caution, Report, ReportPart, ReportSection, spoken};
use crate::solutes::View;
use crate::units::{significant, trimmed};

impl Answer for NowResult {
    type Of = Loaded;
    type Data = NowAnswer;

    const COMMAND: &'static str = "now";

    fn data(&self) -> &NowAnswer {
        &self.answer
    }

    fn told(&self, of: &Loaded) -> Report {
        told(&self.answer, of)
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }
}

/// A value with its 90 %: `34.9 psu (34.4 to 35.4)`.
fn with_most(view: &View, q: &NowQuantity) -> String {
    let shown = view.of(&q.key, &q.unit);
    let number = |v: f64| shown.number(v, 3);
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
                "; {} is probably outside its band already ({} %)",
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
            said(&a.at)
        );
    }
    format!("On {}: {}{leaves}.", said(&a.at), known.join(", "))
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
            let number = |v: f64| shown.number(v, 3);
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
    format!("{}: change {litres} {mixed}; then {}.", said(&action.when), after.join("; "))
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
        said(&m.when),
        m.what.replace('_', " "),
        shown.number(m.read, 3),
        shown.unit,
        shown.number(m.expected, 3),
        trimmed(m.deviations, 1),
        m.verdict
    )
}

fn told(a: &NowAnswer, loaded: &Loaded) -> Report {
    let view = loaded.scenario.view();
    let report = on_scenario(loaded, "where it is now", Some(a.seed));
    let rows = a.quantities.iter().map(|q| {
        let shown = view.of(&q.key, &q.unit);
        let number = |v: f64| shown.number(v, 3);
        let range = |r: Option<[f64; 2]>| r.map_or("-".into(), |r| format!("{} to {}", number(r[0]), number(r[1])));
        let last = q.last.as_ref().map_or("never read".into(), |l| format!("{} {}", number(l.read), l.when));
        let leaves = q.leaves.as_ref().map_or("-".into(), |l| format!("{} %", trimmed(100.0 * l.chance, 0)));
        vec![spoken(&q.key), number(q.value), range(q.half), range(q.most), shown.unit.clone(), leaves, last]
    });
    let leaves = format!("leaves its band in {} d", trimmed(a.ahead_d, 0));
    let head = ["", "now", "50 % range", "90 % range", "", &leaves, "last reading"];
    let mut numbers = vec![ReportPart::table(&format!("The tank on {}", said(&a.at)), &head, rows.collect())];
    if !a.misfits.is_empty() {
        let lines: Vec<String> = a.misfits.iter().map(|m| does_not_fit(m, &view)).collect();
        numbers.push(ReportPart::Text(format!("Readings that do not fit:\n{}", lines.join("\n"))));
    }
    let by = ReportPart::Text(format!("{} It was followed by {}.", a.understood, a.by));
    Report {
        about: format!("{} rows", a.rows),
        answer: a.answer.clone(),
        todo: what_to_do(a, &view).into_iter().map(Action::new).collect(),
        numbers,
        sections: vec![ReportSection::new("The log", vec![by])],
        warnings: a.warnings.clone(),
        caution: Some(Caution::Animals),
        cautions: a.cautions.clone(),
        ..report
    }
}
