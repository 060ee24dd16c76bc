//! The file of a series: a CSV with the columns `when` and `value`.

use std::path::Path;

use super::{AppError, read_text};
use crate::scenario::MAX_BYTES;

/// Reads the points of a series, as `WHEN: VALUE`, and gives the text that they were read from too.
pub(super) fn read_series(series: &str, path: &Path) -> Result<(Vec<String>, String), AppError> {
    let text = read_text(path, MAX_BYTES)?;
    let wrong = |line: usize, what: &str| {
        AppError::Usage(format!(
            "{}: line {line}: {what}\n  = help: the file of the series `{series}` has the columns when and value; example:\n          when,value\n          2026-03-02,1 g/d\n          2026-04-01,1.5 g/d",
            path.display()
        ))
    };
    let mut rows = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(text.as_bytes());
    let head = rows.headers().map_err(|e| wrong(1, &e.to_string()))?.clone();
    let column = |name: &str| head.iter().position(|h| h.trim_start_matches('\u{feff}').eq_ignore_ascii_case(name));
    let (Some(when), Some(value)) = (column("when"), column("value")) else {
        return Err(wrong(1, "the columns `when` and `value` are not both there"));
    };
    let mut points = Vec::new();
    for (k, row) in rows.records().enumerate() {
        let row = row.map_err(|e| wrong(k + 2, &e.to_string()))?;
        let (Some(when), Some(value)) = (row.get(when), row.get(value)) else {
            return Err(wrong(k + 2, "a cell is missing"));
        };
        points.push(format!("{when}: {value}"));
    }
    Ok((points, text))
}
