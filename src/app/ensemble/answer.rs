//! What `ensemble` answers, and the files that it makes.

use crate::app::report::{Study, table};
use crate::app::{AppError, Loaded};
use crate::chart::Picture;
use crate::results::Ensemble;
use crate::units::{significant, trimmed};

/// An ensemble with its pictures.
#[derive(Debug)]
pub struct EnsembleResult {
    /// The answer.
    pub ensemble: Ensemble,
    /// A fan a quantity, with its file name.
    pub pictures: Vec<(String, Picture)>,
}

impl EnsembleResult {
    /// The report as a page.
    pub(super) fn report(&self, loaded: &Loaded) -> Result<String, AppError> {
        let e = &self.ensemble;
        let view = loaded.scenario.view();
        let percent = |v: f64| format!("{} %", trimmed(100.0 * v, 1));
        let chances = e
            .chances
            .iter()
            .map(|c| {
                let when = c.median_left_at_d.map_or("-".into(), |d| trimmed(d, 1));
                vec![c.key.clone(), percent(c.chance), percent(c.standard_error), when]
            })
            .collect();
        let ends = e
            .quantities
            .iter()
            .map(|q| {
                let shown = view.of(&q.key, &q.unit);
                let last = |v: &Vec<Option<f64>>| {
                    v.last().copied().flatten().map_or("-".into(), |v| significant(shown.value(v), 4))
                };
                std::iter::once(q.key.clone()).chain(q.quantiles.iter().map(last)).chain([shown.unit.clone()]).collect()
            })
            .collect();
        let mut head = vec![String::new()];
        head.extend(e.levels.iter().map(|l| percent(*l)));
        head.push("unit".into());
        let head: Vec<&str> = head.iter().map(String::as_str).collect();
        let answer: Vec<String> = e
            .chances
            .iter()
            .map(|c| {
                format!(
                    "{} leaves its band with a chance of {} ± {}",
                    c.key,
                    percent(c.chance),
                    percent(c.standard_error)
                )
            })
            .collect();
        let uncertain = e.spreads.iter().map(|s| vec![s.clone()]).collect();
        let study = Study {
            loaded,
            kind: "under uncertainty",
            answer: if answer.is_empty() { "No band was asked for.".into() } else { answer.join("; ") + "." },
            seed: Some(e.seed),
            pictures: &self.pictures,
            tables: vec![
                table(
                    "Chance to leave a band within the run",
                    &["", "chance", "standard error", "in half of those by day"],
                    chances,
                ),
                table("Quantiles at the end", &head, ends),
                table(
                    &format!("What is uncertain, in {} members", e.members[1] - e.members[0]),
                    &["spread"],
                    uncertain,
                ),
            ],
            warnings: &e.warnings,
            cautions: &[],
        };
        study.html()
    }
}
