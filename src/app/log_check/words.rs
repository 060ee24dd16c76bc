//! The answer of `log` in words.

use super::answer::{LogCheckAnswer, LogCheckResult};
use crate::app::{Answer, AppError, Loaded};
use crate::export::warnings_text;
use crate::units::trimmed;

impl Answer for LogCheckResult {
    type Of = Loaded;
    type Data = LogCheckAnswer;

    const COMMAND: &'static str = "log";

    fn data(&self) -> &LogCheckAnswer {
        &self.answer
    }

    fn text(&self, _of: &Loaded, _width: usize) -> String {
        text(&self.answer)
    }

    fn cautions(&self) -> &[String] {
        &[]
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(vec![("log.csv".into(), self.table.clone())])
    }
}

/// Readings shown of a log that was put right.
const SHOWN: usize = 12;

fn text(a: &LogCheckAnswer) -> String {
    let mut text = format!("{}: {} rows from {} to {}\n{}\n\n", a.log, a.rows, a.first, a.last, a.form);
    text += &format!("{:<26}{:<30}{:<14}{:>8}\n", "column", "taken as", "in", "numbers");
    for c in &a.columns {
        let header: String = c.header.chars().take(25).collect();
        text += &format!("{header:<26}{:<30}{:<14}{:>8}\n", c.what, c.unit, c.numbers);
    }
    if let Some(hours) = a.thinned_to_h {
        text += &format!(
            "\n{} readings are more than a fit can use: it takes their means over {} h.\n",
            a.readings,
            trimmed(hours, 1)
        );
    }
    if !a.left_out.is_empty() {
        text += "\nLeft out:\n";
        for why in &a.left_out {
            text += &format!("  {why}\n");
        }
    }
    if !a.rebased.is_empty() {
        text += &format!("\n{} readings put right by the calibration:\n", a.rebased.len());
        text += &format!("  {:<18}{:>10}{:>10}  psu\n", "", "read", "means");
        for r in a.rebased.iter().take(SHOWN) {
            text += &format!("  {:<18}{:>10}{:>10}\n", r.when, trimmed(r.read_psu, 2), trimmed(r.psu, 2));
        }
        if a.rebased.len() > SHOWN {
            text += &format!("  and {} more in log.csv\n", a.rebased.len() - SHOWN);
        }
    }
    text + "\n" + &warnings_text(&a.warnings)
}
