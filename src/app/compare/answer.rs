//! What `compare` answers, and the files that it makes.

use crate::app::choose::span_words;
use crate::app::report::{Study, table};
use crate::app::{AppError, Loaded};
use crate::chart::Picture;
use crate::results::Comparison;
use crate::units::significant;

/// Variants side by side, with pictures.
#[derive(Debug)]
pub struct CompareResult {
    /// The table.
    pub comparison: Comparison,
    /// A picture a quantity, with its file name.
    pub pictures: Vec<(String, Picture)>,
}

impl CompareResult {
    /// The report as a page.
    pub(super) fn report(&self, loaded: &Loaded) -> Result<String, AppError> {
        let c = &self.comparison;
        let view = loaded.scenario.view();
        let rows = c
            .rows()
            .into_iter()
            .map(|row| row.shown(&view))
            .map(|row| {
                let cells = row.values.iter().map(|v| v.map_or("-".into(), |v| significant(v, 4)));
                std::iter::once(row.what.replace('_', " ")).chain(cells).chain([row.unit.clone()]).collect()
            })
            .collect();
        let mut head = vec![""];
        head.extend(c.names.iter().map(String::as_str));
        head.push("unit");
        let kept: Vec<String> = c
            .names
            .iter()
            .zip(&c.summaries)
            .enumerate()
            .map(|(k, (n, s))| {
                let chance = c.under.get(k).map_or(String::new(), |u| {
                    format!(", for {} with a chance of {} %", span_words(c.span_d), significant(100.0 * u.chance, 2))
                });
                format!(
                    "{n}: {}{chance}",
                    if s.bands_kept { "every band is kept in this run" } else { "a band is left in this run" }
                )
            })
            .collect();
        let mut tables = vec![table("Each variant over the whole run", &head, rows)];
        if !c.under.is_empty() {
            let litres = view.units.shown("L/year");
            let rows = c
                .under
                .iter()
                .map(|u| {
                    let percent = |p: f64| significant(100.0 * p, 3) + " %";
                    let numbers = [significant(litres.value(u.litres), 4), significant(u.minutes, 4)];
                    let chances = [u.chance, u.at_least, u.worst_use].map(percent);
                    std::iter::once(u.name.clone()).chain(numbers).chain(chances).collect()
                })
                .collect();
            let caption = format!("Under uncertainty, long in force, for {}", span_words(c.span_d));
            tables.push(table(&caption, &["", &litres.unit, "min/year", "chance", "at least", "worst use"], rows));
        }
        let study = Study {
            loaded,
            kind: "variants side by side",
            answer: kept.join("; ") + ".",
            seed: None,
            pictures: &self.pictures,
            tables,
            warnings: &c.warnings,
            cautions: &c.summaries[0].cautions,
        };
        study.html()
    }
}
