//! What `sensitivity` answers, and the files that it makes.

use crate::app::report::{Study, table};
use crate::app::{AppError, Loaded};
use crate::chart::Picture;
use crate::results::Sensitivity;
use crate::units::significant;

/// Indices with their pictures.
#[derive(Debug)]
pub struct SensitivityResult {
    /// The answer.
    pub sensitivity: Sensitivity,
    /// A picture a measure, with its file name.
    pub pictures: Vec<(String, Picture)>,
}

impl SensitivityResult {
    /// The report as a page.
    pub(super) fn report(&self, loaded: &Loaded) -> Result<String, AppError> {
        let s = &self.sensitivity;
        let view = loaded.scenario.view();
        let share = |v: f64, half: f64| format!("{:.0} ± {:.0} %", 100.0 * v, 100.0 * half);
        let tables = s
            .measures
            .iter()
            .map(|m| {
                let shown = view.of(&m.measure, &m.unit);
                let rows = m
                    .inputs
                    .iter()
                    .map(|i| {
                        vec![
                            i.key.clone(),
                            share(i.first, i.first_half_width),
                            share(i.total, i.total_half_width),
                            significant(shown.value(i.at_low), 4),
                            significant(shown.value(i.at_high), 4),
                        ]
                    })
                    .collect();
                let caption = format!("{} [{}]: shares of its variance, with 95 % intervals", m.measure, shown.unit);
                table(&caption, &["", "alone", "in all", "at its 5 %", "at its 95 %"], rows)
            })
            .collect();
        let advice: Vec<&str> = s.measures.iter().map(|m| m.advice.as_str()).collect();
        let study = Study {
            loaded,
            kind: "what matters most",
            answer: advice.join(" "),
            seed: Some(u64::from(s.seed)),
            pictures: &self.pictures,
            tables,
            warnings: &s.warnings,
            cautions: &[],
        };
        study.html()
    }
}
