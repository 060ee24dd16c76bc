//! The answer of `log` in words.

use super::answer::{LogCheckAnswer, LogCheckResult};
use crate::app::report::on_scenario;
use crate::app::{Answer, AppError, Loaded};
use crate::results::{Report, ReportPart, ReportSection};
use crate::units::trimmed;

impl Answer for LogCheckResult {
    type Of = Loaded;
    type Data = LogCheckAnswer;

    const COMMAND: &'static str = "log";

    fn data(&self) -> &LogCheckAnswer {
        &self.answer
    }

    fn told(&self, of: &Loaded) -> Report {
        told(&self.answer, of)
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(vec![("log.csv".into(), self.table.clone())])
    }
}

/// Readings shown of a log that was put right, and cells shown that were left out.
const SHOWN: usize = 12;

fn told(a: &LogCheckAnswer, loaded: &Loaded) -> Report {
    let columns =
        a.columns.iter().map(|c| vec![c.header.clone(), c.what.clone(), c.unit.clone(), c.numbers.to_string()]);
    let mut numbers = vec![ReportPart::table("Columns", &["column", "taken as", "in", "numbers"], columns.collect())];
    if let Some(hours) = a.thinned_to_h {
        numbers.push(ReportPart::Text(format!(
            "{} readings are more than a fit can use: it takes their means over {} h.",
            a.readings,
            trimmed(hours, 1)
        )));
    }
    let left_out = |most: usize| {
        let mut lines: Vec<String> = a.left_out.iter().take(most).cloned().collect();
        if a.left_out.len() > most {
            lines.push(format!("{} more: --full", a.left_out.len() - most));
        }
        ReportPart::Text(format!("Left out:\n{}", lines.join("\n")))
    };
    let mut sections = Vec::new();
    if !a.left_out.is_empty() {
        numbers.push(left_out(SHOWN));
        sections.push(ReportSection::new("Left out", vec![left_out(usize::MAX)]));
    }
    if !a.rebased.is_empty() {
        let rows =
            a.rebased.iter().take(SHOWN).map(|r| vec![r.when.clone(), trimmed(r.read_psu, 2), trimmed(r.psu, 2)]);
        let caption = format!("{} readings corrected by the calibration", a.rebased.len());
        numbers.push(ReportPart::captioned(&caption, &["", "read [psu]", "means [psu]"], rows.collect()));
        if a.rebased.len() > SHOWN {
            numbers.push(ReportPart::Text(format!("{} more are in log.csv.", a.rebased.len() - SHOWN)));
        }
    }
    Report {
        about: format!("{} · {}", a.log, a.form),
        answer: format!("{} rows from {} to {} were understood.", a.rows, a.first, a.last),
        numbers,
        sections,
        warnings: a.warnings.clone(),
        ..on_scenario(loaded, "what the log says", None)
    }
}
