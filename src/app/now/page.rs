//! The answer of `now` as a page.

use super::answer::NowResult;
use super::words::{does_not_fit, what_to_do};
use crate::app::report::{Study, table};
use crate::app::{AppError, Loaded};
use crate::results::ReportPart;
use crate::units::{significant, trimmed};

impl NowResult {
    /// The report as a page.
    pub(super) fn report(&self, loaded: &Loaded) -> Result<String, AppError> {
        let a = &self.answer;
        let view = loaded.scenario.view();
        let rows = a
            .quantities
            .iter()
            .map(|q| {
                let shown = view.of(&q.key, &q.unit);
                let range = |r: Option<[f64; 2]>| {
                    r.map_or("never read".into(), |r| {
                        format!("{} to {}", significant(shown.value(r[0]), 3), significant(shown.value(r[1]), 3))
                    })
                };
                let leaves = q.leaves.as_ref().map_or("-".into(), |l| format!("{} %", trimmed(100.0 * l.chance, 0)));
                vec![
                    q.key.replace('_', " "),
                    format!("{} {}", significant(shown.value(q.value), 4), shown.unit),
                    range(q.half),
                    range(q.most),
                    leaves,
                ]
            })
            .collect();
        let leaves = format!("leaves its band in {} d", trimmed(a.ahead_d, 0));
        let head = ["what", "now", "50 %", "90 %", &leaves];
        let mut tables: Vec<ReportPart> = what_to_do(a, &view).into_iter().map(ReportPart::Text).collect();
        tables.push(table(&format!("The tank on {}", a.at), &head, rows));
        tables.extend(a.misfits.iter().map(|m| ReportPart::Text(does_not_fit(m, &view))));
        let study = Study {
            loaded,
            kind: "where it is now",
            answer: a.answer.clone(),
            seed: Some(a.seed),
            pictures: &self.pictures,
            tables,
            warnings: &a.warnings,
            cautions: &a.cautions,
        };
        study.html()
    }
}
