//! Reading a batch log: CSV with units in the header.

use std::path::Path;

use super::{AppError, read_text};
use crate::learn::BatchRow;
use crate::units::{Mass, PracticalSalinity, Temperature, Volume};

/// Largest log that is read \[bytes\].
const MAX_BYTES: u64 = 16 << 20;
/// Columns of a batch log; the temperature may be absent, and is 25 °C then.
const COLUMNS: [&str; 4] = ["fresh_L", "salt_g", "salinity_psu", "temperature_C"];

/// Reads a batch log. Rows with a hole are named and left out.
pub fn read_batch_log(path: &Path) -> Result<(Vec<BatchRow>, Vec<String>), AppError> {
    let text = read_text(path, MAX_BYTES)?;
    let name = path.display();
    let mut reader = csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
    let fail = |why: String| AppError::Usage(format!("{name}: {why}\n  = help: columns: {}", COLUMNS.join(", ")));
    let header = reader.headers().map_err(|e| fail(e.to_string()))?.clone();
    let column = |wanted: &str| header.iter().position(|h| h == wanted);
    let mut places = Vec::new();
    for (i, wanted) in COLUMNS.iter().enumerate() {
        match column(wanted) {
            Some(at) => places.push(Some(at)),
            None if i == 3 => places.push(None),
            None => return Err(fail(format!("line 1: the column {wanted} is missing"))),
        }
    }
    let (mut rows, mut skipped) = (Vec::new(), Vec::new());
    for record in reader.records() {
        let record = record.map_err(|e| fail(e.to_string()))?;
        let line = record.position().map_or(0, csv::Position::line);
        let number = |k: usize| -> Result<f64, String> {
            let Some(at) = places[k] else { return Ok(25.0) };
            let text = record.get(at).unwrap_or("");
            let value: f64 = text.parse().map_err(|_| format!("`{text}` under {} is no number", COLUMNS[k]))?;
            if value.is_finite() && (value > 0.0 || k == 3) {
                Ok(value)
            } else {
                Err(format!("{} of {value} cannot be", COLUMNS[k]))
            }
        };
        match (number(0), number(1), number(2), number(3)) {
            (Ok(fresh), Ok(salt), Ok(psu), Ok(celsius)) => rows.push(BatchRow {
                fresh: Volume::from_litres(fresh),
                salt_mix: Mass::from_kg(salt * 1e-3),
                salinity: PracticalSalinity::from_psu(psu),
                temperature: Temperature::from_celsius(celsius),
            }),
            (a, b, c, d) => {
                let why = [a, b, c, d].into_iter().find_map(Result::err).unwrap_or_default();
                skipped.push(format!("{name}, line {line}: {why}; the row is left out"));
            }
        }
    }
    Ok((rows, skipped))
}
