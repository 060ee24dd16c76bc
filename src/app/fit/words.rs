//! The answer of `fit` in words.

use super::answer::FitResult;
use crate::app::fit::answer::FitAnswer;
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::export::warnings_text;
use crate::solutes::View;
use crate::units::{significant, trimmed};

impl Answer for FitResult {
    type Of = Loaded;
    type Data = FitAnswer;

    const COMMAND: &'static str = "fit";

    fn data(&self) -> &FitAnswer {
        &self.answer
    }

    fn text(&self, of: &Loaded, _width: usize) -> String {
        text(&self.answer, &of.scenario.view())
    }

    fn cautions(&self) -> &[String] {
        &[]
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

pub(super) fn text(a: &FitAnswer, view: &View) -> String {
    let mut text = format!("{}, {} basis, {} rows\n{}\n\n", a.scenario, a.basis, a.rows, a.understood);
    text += &format!("{:<30}{:>10}{:>22}  {:<10}{:>6}\n", "", "value", "90 % interval", "unit", "open");
    for e in &a.estimates {
        let shown = view.of(&e.what, &e.unit);
        let number = |value: f64, digits: i32| significant(shown.value(value), digits);
        let interval = format!("{} to {}", number(e.low, 3), number(e.high, 3));
        text += &format!(
            "{:<30}{:>10}{interval:>22}  {:<10}{:>5}%\n",
            e.what,
            number(e.value, 4),
            shown.unit,
            trimmed(100.0 * e.left_open, 0)
        );
    }
    text += "(open: deviation left, of what was assumed beforehand)\n";
    text += &format!("Scatter about the model: {} of the stated errors.\n", trimmed(a.reduced.sqrt(), 2));
    text += &explained(a, view);
    if !a.outliers.is_empty() {
        text += "Readings that do not fit:\n";
        for o in &a.outliers {
            text += &format!("  {}: {}, {:+.1} deviations off\n", o.when, o.what, o.deviations);
        }
    }
    if !a.open.is_empty() {
        text += &format!("The log cannot tell: {}.\n", a.open.join(", "));
    }
    if let Some(w) = &a.wanted {
        let say = |value: f64| view.say(&w.measure, value, &w.unit, 4);
        let before = w.before.map_or(String::new(), |b| format!(" (as the scenario stood: {})", say(b)));
        let interval = match (w.low, w.high) {
            (Some(low), Some(high)) => {
                let shown = view.of(&w.measure, &w.unit);
                let [low, high] = [low, high].map(|v| significant(shown.value(v), 3));
                format!(", {low} to {high}")
            }
            _ => String::new(),
        };
        text += &format!("\n{}: {}{interval}{before}\n", w.measure, say(w.value));
        text += "What to measure next, by how much it narrows the variance of that:\n";
        for (what, share) in a.next.iter().take(5) {
            text += &format!("  {:<58}{:>5} %\n", what, trimmed(100.0 * share, 0));
        }
    }
    if let Some(coverage) = a.coverage {
        text += &format!(
            "\nForecast of the {} readings held out: {} % within their 90 % intervals.\n",
            a.held_out,
            trimmed(100.0 * coverage, 0)
        );
    }
    text + &warnings_text(&a.warnings)
}

/// Weight below which an explanation is not worth a line.
const LEAST_WEIGHT: f64 = 0.02;

/// What the log may be explained by.
fn explained(a: &FitAnswer, view: &View) -> String {
    let likely: Vec<_> = a.explanations.iter().filter(|e| e.weight >= LEAST_WEIGHT).collect();
    if likely.len() == 1 && likely[0].since.is_empty() && likely[0].size.is_none() {
        return String::new();
    }
    let mut text = String::from("What explains the log:\n");
    for e in likely {
        let since = if e.since.is_empty() { String::new() } else { format!(" from {} on ({})", e.since, e.between) };
        let size = e.size.as_ref().map_or(String::new(), |s| {
            let shown = view.of(&s.what, &s.unit);
            let [value, low, high] = [s.value, s.low, s.high].map(|v| significant(shown.value(v), 3));
            let unit = if s.unit == "1" { "times".to_owned() } else { shown.unit };
            format!(": {value} {unit}, {low} to {high}")
        });
        text += &format!("  {:>3} %  {}{since}{size}\n", trimmed(100.0 * e.weight, 0), e.what);
    }
    text
}
