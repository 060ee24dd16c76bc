//! The answer of `fit` in words.

use super::answer::FitResult;
use crate::app::fit::answer::FitAnswer;
use crate::app::moment::said;
use crate::app::report::on_scenario;
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::results::{Action, Report, ReportPart, ReportSection, as_sentence};
use crate::solutes::View;
use crate::units::trimmed;

impl Answer for FitResult {
    type Of = Loaded;
    type Data = FitAnswer;

    const COMMAND: &'static str = "fit";

    fn data(&self) -> &FitAnswer {
        &self.answer
    }

    fn told(&self, of: &Loaded) -> Report {
        told(&self.answer, of)
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        let others = self.others.iter().map(|(name, text)| (name.clone(), text.clone().into_bytes()));
        Ok(std::iter::once(("fitted.toml".into(), self.scenario.clone().into_bytes())).chain(others).collect())
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }

    fn notes(&self) -> Vec<String> {
        self.answer.left_out.clone()
    }
}

/// Deviation left of what was assumed beforehand, above which the log says little of a value.
const SAYS_LITTLE: f64 = 0.7;

fn told(a: &FitAnswer, loaded: &Loaded) -> Report {
    let view = loaded.scenario.view();
    let report = on_scenario(loaded, "fitted to a log", Some(a.seed));
    let rows = a.estimates.iter().map(|e| {
        let shown = view.of(&e.what, &e.unit);
        let number = |value: f64, digits: i32| shown.number(value, digits);
        let interval = format!("{} to {}", number(e.low, 3), number(e.high, 3));
        let said = if e.left_open > SAYS_LITTLE { "the log says little" } else { "" };
        vec![e.what.clone(), number(e.value, 4), interval, shown.unit.clone(), said.to_owned()]
    });
    let mut numbers =
        vec![ReportPart::table("What the log says", &["", "value", "90 % interval", "", ""], rows.collect())];
    numbers.extend(explained(a, &view));
    numbers.extend(wanted(a, &view));
    let mut words = vec![format!("Readings scatter {} as much as assumed.", times(a.reduced.sqrt()))];
    if let Some(coverage) = a.coverage {
        words.push(format!(
            "Forecast of the last {} readings: {} % lie within their 90 % intervals.",
            a.held_out,
            trimmed(100.0 * coverage, 0)
        ));
    }
    numbers.push(ReportPart::Text(words.join("\n")));
    let mut rest = vec![ReportPart::Text(a.understood.clone())];
    if !a.outliers.is_empty() {
        let rows = a.outliers.iter().map(|o| vec![o.when.clone(), o.what.clone(), format!("{:+.1}", o.deviations)]);
        rest.push(ReportPart::captioned(
            "Readings that do not fit",
            &["when", "what", "standard deviations off"],
            rows.collect(),
        ));
    }
    if !a.next.is_empty() {
        let rows =
            a.next.iter().take(5).map(|(what, share)| vec![what.clone(), format!("{} %", trimmed(100.0 * share, 0))]);
        let caption = "What to measure next, by how much it narrows the answer";
        rest.push(ReportPart::captioned(caption, &["", "narrows the variance by"], rows.collect()));
    }
    let open: Vec<Vec<String>> =
        a.estimates.iter().map(|e| vec![e.what.clone(), format!("{} %", trimmed(100.0 * e.left_open, 0))]).collect();
    rest.push(ReportPart::captioned(
        "Uncertainty left, in percent of what was assumed beforehand",
        &["", "left"],
        open,
    ));
    Report {
        about: format!("{} rows", a.rows),
        answer: sentence(a),
        todo: todo(a),
        numbers,
        sections: vec![ReportSection::new("The log", rest)],
        warnings: a.warnings.clone(),
        ..report
    }
}

fn times(scatter: f64) -> String {
    format!("{} times", trimmed(scatter, 2))
}

fn sentence(a: &FitAnswer) -> String {
    let told = a.estimates.iter().filter(|e| e.left_open <= SAYS_LITTLE).count();
    let of = a.estimates.len();
    let open = if a.open.is_empty() { String::new() } else { format!(" It cannot tell: {}.", a.open.join(", ")) };
    // What changed comes before what is known.
    let changed = a.explanations.first().filter(|e| e.weight >= LIKELY && !e.since.is_empty());
    let changed = changed.map_or(String::new(), |e| {
        format!("Something changed about {}: {} ({} %). ", said(&e.since), e.what, trimmed(100.0 * e.weight, 0))
    });
    let known = match told {
        0 => format!("The log says little about any of {of} values.{open}"),
        n if n == of => format!("The log tells all {of} values.{open}"),
        n => format!("The log tells {n} of {of} values.{open}"),
    };
    changed + &known
}

/// Weight from which on an explanation is told first.
const LIKELY: f64 = 0.5;

fn todo(a: &FitAnswer) -> Vec<Action> {
    let mut list =
        vec![Action::new("Use the file fitted.toml, beside the report, from now on: it holds all that was learned.")];
    list.extend(a.next.first().map(|(what, share)| {
        Action::new(format!(
            "{} It would narrow the variance of {} by {} %.",
            as_sentence(what),
            a.wanted.as_ref().map_or("the answer", |w| &w.measure),
            trimmed(100.0 * share, 0)
        ))
    }));
    list
}

fn wanted(a: &FitAnswer, view: &View) -> Option<ReportPart> {
    let w = a.wanted.as_ref()?;
    let say = |value: f64| view.say(&w.measure, value, &w.unit, 4);
    let before = w.before.map_or(String::new(), |b| format!("; before, the file said {}", say(b)));
    let interval = match w.low.zip(w.high) {
        Some((low, high)) => {
            let shown = view.of(&w.measure, &w.unit);
            let [low, high] = [low, high].map(|v| shown.number(v, 3));
            format!(" ({low} to {high}, 90 %)")
        }
        None => String::new(),
    };
    Some(ReportPart::Text(format!("{}: {}{interval}{before}.", w.measure, say(w.value))))
}

/// Weight below which an explanation is not worth a line.
const LEAST_WEIGHT: f64 = 0.02;

/// What the log may be explained by.
fn explained(a: &FitAnswer, view: &View) -> Option<ReportPart> {
    let likely: Vec<_> = a.explanations.iter().filter(|e| e.weight >= LEAST_WEIGHT).collect();
    if likely.len() == 1 && likely[0].since.is_empty() && likely[0].size.is_none() {
        return None;
    }
    let rows = likely.into_iter().map(|e| {
        let since = if e.since.is_empty() { String::new() } else { format!("{} ({})", e.since, e.between) };
        let size = e.size.as_ref().map_or(String::new(), |s| {
            let shown = view.of(&s.what, &s.unit);
            let [value, low, high] = [s.value, s.low, s.high].map(|v| shown.number(v, 3));
            let unit = if s.unit == "1" { "times".to_owned() } else { shown.unit };
            format!("{value} {unit} ({low} to {high})")
        });
        vec![format!("{} %", trimmed(100.0 * e.weight, 0)), e.what.clone(), since, size]
    });
    Some(ReportPart::captioned("What explains the log", &["weight", "explanation", "from", "size"], rows.collect()))
}
