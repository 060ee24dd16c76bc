//! A log as a table: separator and decimal mark found out, each row with its line.

use std::path::Path;

use csv::StringRecord;

use crate::app::{AppError, read_text};

/// Largest log that is read \[bytes\]: a probe's minutes of two years.
const MAX_BYTES: u64 = 64 << 20;

/// A log.
pub(in crate::app) struct LogTable {
    name: String,
    allowed: String,
    /// Names of its columns, as they stand.
    pub(in crate::app) header: StringRecord,
    /// Lines and rows.
    pub(in crate::app) rows: Vec<(u64, StringRecord)>,
    /// What stands between two cells.
    pub(in crate::app) separator: u8,
    /// Whether numbers have a comma where others have a point.
    pub(in crate::app) decimal_comma: bool,
}

/// Separators that are looked for.
const SEPARATORS: [u8; 4] = [b';', b'\t', b'|', b','];

impl LogTable {
    /// Reads a log; `allowed` names the columns that it may have, for a complaint; `most` is how many
    /// rows it may have.
    pub(in crate::app) fn read(path: &Path, allowed: String, most: usize) -> Result<Self, AppError> {
        let text = read_text(path, MAX_BYTES)?;
        let text = text.trim_start_matches('\u{feff}');
        let head = text.lines().next().unwrap_or_default();
        let separator = SEPARATORS.into_iter().find(|s| head.as_bytes().contains(s)).unwrap_or(b',');
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(separator)
            .flexible(true)
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let name = path.display().to_string();
        let (header, rows) = (StringRecord::new(), Vec::new());
        let mut table = Self { name, allowed, header, rows, separator, decimal_comma: false };
        table.header = reader.headers().map_err(|e| table.refuse(e))?.clone();
        let columns = table.header.len();
        for record in reader.records() {
            let record = record.map_err(|e| table.refuse(e))?;
            let line = record.position().map_or(0, csv::Position::line);
            if table.rows.len() == most {
                return Err(table.refuse(format!("more than {most} rows: keep the latest, or one row a day")));
            }
            if record.iter().skip(columns).any(|cell| !cell.is_empty()) {
                return Err(table.refuse(format!(
                    "line {line}: it has {} cells for {columns} columns; numbers with a decimal comma need another separator, as in 2026-03-14;35,1",
                    record.len()
                )));
            }
            table.rows.push((line, record));
        }
        table.decimal_comma = table.has_decimal_comma()?;
        Ok(table)
    }

    /// Whether numbers are written with a comma; both ways in one log are refused.
    fn has_decimal_comma(&self) -> Result<bool, AppError> {
        let (mut comma, mut point) = (None, None);
        for (line, row) in &self.rows {
            for cell in row {
                match decimal_mark(cell) {
                    Some(',') => comma = comma.or(Some(*line)),
                    Some(_) => point = point.or(Some(*line)),
                    None => {}
                }
            }
            if let (Some(comma), Some(point)) = (comma, point) {
                return Err(self.refuse(format!(
                    "numbers are written with a comma (line {comma}) and with a point (line {point}): write them alike"
                )));
            }
        }
        Ok(comma.is_some())
    }

    /// What was found out about its form, in words.
    pub(in crate::app) fn dialect(&self) -> String {
        let separator = match self.separator {
            b';' => "semicolons",
            b'\t' => "tabs",
            b'|' => "bars",
            _ => "commas",
        };
        let mark = if self.decimal_comma { ", decimal commas" } else { "" };
        format!("{separator} between cells{mark}")
    }

    /// The log cannot be used.
    pub(in crate::app) fn refuse(&self, why: impl std::fmt::Display) -> AppError {
        AppError::Usage(format!("{}: {why}\n  = help: columns: {}", self.name, self.allowed))
    }

    /// What is wrong in a line.
    pub(in crate::app) fn in_line(&self, line: u64, why: &str) -> String {
        format!("{}, line {line}: {why}", self.name)
    }

    /// The place of a column; letter case does not matter.
    fn place(&self, column: &str) -> Option<usize> {
        self.header.iter().position(|h| h.eq_ignore_ascii_case(column))
    }

    /// Whether there is a column of that name.
    pub(in crate::app) fn has(&self, column: &str) -> bool {
        self.place(column).is_some()
    }

    /// A cell that holds something.
    pub(in crate::app) fn cell<'a>(&self, row: &'a StringRecord, column: &str) -> Option<&'a str> {
        row.get(self.place(column)?).filter(|t| !t.is_empty())
    }

    /// The number of a text, with the decimal mark of this log.
    pub(in crate::app) fn number(&self, text: &str) -> Option<f64> {
        if self.decimal_comma { text.replace(',', ".").parse().ok() } else { text.parse().ok() }
    }
}

/// The mark of a text that begins with a number such as 35,1 or 35.1; dates have more than one.
fn decimal_mark(text: &str) -> Option<char> {
    let number: &str = text.split(char::is_whitespace).next().unwrap_or_default();
    let mut marks = number.char_indices().filter(|(_, c)| !(c.is_ascii_digit() || *c == '-' || *c == '+'));
    let (at, mark) = marks.next()?;
    let alone = marks.next().is_none() && at > 0 && at + 1 < number.len() && !number[1..].contains(['-', '+']);
    (alone && (mark == ',' || mark == '.')).then_some(mark)
}
