//! The answer of `log` in words.

use super::answer::{LogCheckAnswer, LogCheckResult};
use crate::app::moment::said;
use crate::app::report::on_scenario;
use crate::app::{Answer, AppError, Loaded};
use crate::results::{Report, ReportPart};
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

/// Rows shown of readings that were corrected, and of cells that were left out.
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
    if !a.left_out.is_empty() {
        let rows = a.left_out.iter().map(|why| vec![why.clone()]).collect();
        numbers.push(ReportPart::captioned("Left out", &[""], rows).first(SHOWN));
    }
    if !a.rebased.is_empty() {
        let rows = a.rebased.iter().map(|r| vec![r.when.clone(), trimmed(r.read_psu, 2), trimmed(r.psu, 2)]);
        let caption = format!("{} readings corrected by the calibration; all of them in log.csv", a.rebased.len());
        numbers.push(ReportPart::captioned(&caption, &["", "read [psu]", "means [psu]"], rows.collect()).first(SHOWN));
    }
    Report {
        about: format!("{} · {}", a.log, a.form),
        answer: format!("{} rows from {} to {} were understood.", a.rows, said(&a.first), said(&a.last)),
        numbers,
        warnings: a.warnings.clone(),
        ..on_scenario(loaded, "what the log says", None)
    }
}
