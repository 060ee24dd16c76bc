//! A log as a table: comma-separated values with a header, each row with its line.

use std::path::Path;

use csv::StringRecord;

use super::{AppError, read_text};

/// Largest log that is read \[bytes\].
const MAX_BYTES: u64 = 16 << 20;

/// Most rows of a log: fifty years of daily ones. What is learned from a log is learned anew after each row.
const MOST_ROWS: usize = 20_000;

/// A log.
pub(super) struct LogTable {
    name: String,
    allowed: String,
    /// Names of its columns.
    pub(super) header: StringRecord,
    /// Lines and rows.
    pub(super) rows: Vec<(u64, StringRecord)>,
}

impl LogTable {
    /// Reads a log; `allowed` names the columns that it may have, for a complaint.
    pub(super) fn read(path: &Path, allowed: String) -> Result<Self, AppError> {
        let text = read_text(path, MAX_BYTES)?;
        let mut reader = csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
        let mut table =
            Self { name: path.display().to_string(), allowed, header: StringRecord::new(), rows: Vec::new() };
        table.header = reader.headers().map_err(|e| table.refuse(e))?.clone();
        for record in reader.records() {
            let record = record.map_err(|e| table.refuse(e))?;
            if table.rows.len() == MOST_ROWS {
                return Err(table.refuse(format!("more than {MOST_ROWS} rows: keep the latest, or one row a day")));
            }
            table.rows.push((record.position().map_or(0, csv::Position::line), record));
        }
        Ok(table)
    }

    /// The log cannot be used.
    pub(super) fn refuse(&self, why: impl std::fmt::Display) -> AppError {
        AppError::Usage(format!("{}: {why}\n  = help: columns: {}", self.name, self.allowed))
    }

    /// What is wrong in a line.
    pub(super) fn in_line(&self, line: u64, why: &str) -> String {
        format!("{}, line {line}: {why}", self.name)
    }

    /// Whether there is a column of that name.
    pub(super) fn has(&self, column: &str) -> bool {
        self.header.iter().any(|h| h == column)
    }

    /// A cell that holds something.
    pub(super) fn cell<'a>(&self, row: &'a StringRecord, column: &str) -> Option<&'a str> {
        row.get(self.header.iter().position(|h| h == column)?).filter(|t| !t.is_empty())
    }
}
