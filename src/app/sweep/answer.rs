//! What `sweep` answers, and the files that it makes.

use crate::app::report::{Study, table};
use crate::app::sweep::label;
use crate::app::{AppError, Loaded};
use crate::chart::Picture;
use crate::results::Sweep;
use crate::units::significant;

/// A sweep with its pictures.
#[derive(Debug)]
pub struct SweepResult {
    /// The table.
    pub sweep: Sweep,
    /// A picture a measure, with its file name.
    pub pictures: Vec<(String, Picture)>,
}

impl SweepResult {
    /// The report as a page.
    pub(super) fn report(&self, loaded: &Loaded) -> Result<String, AppError> {
        const MOST_ROWS: usize = 200;
        let s = &self.sweep.shown(&loaded.scenario.view());
        let number = |v: f64| significant(v, 4);
        let rows = s
            .points
            .iter()
            .zip(&s.values)
            .take(MOST_ROWS)
            .map(|(p, v)| p.iter().map(|p| number(*p)).chain(v.iter().map(|v| v.map_or("-".into(), number))).collect())
            .collect();
        let keys = s.keys.iter().zip(&s.key_units).map(|(k, u)| label(k, u));
        let head: Vec<String> = keys.chain(s.measures.iter().zip(&s.measure_units).map(|(m, u)| label(m, u))).collect();
        let head: Vec<&str> = head.iter().map(String::as_str).collect();
        let study = Study {
            loaded,
            kind: "sweep",
            answer: format!("{} plans over {}.", s.points.len(), s.keys.join(" and ")),
            seed: None,
            pictures: &self.pictures,
            tables: vec![table(&format!("The first {MOST_ROWS} rows; all of them in sweep.csv"), &head, rows)],
            warnings: &s.warnings,
            cautions: &[],
        };
        study.html()
    }
}
