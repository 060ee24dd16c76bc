//! Reading a log of batches as people keep it.

use std::path::Path;

use csv::StringRecord;

use crate::app::AppError;
use crate::app::log::{LogTable, SALINITY, name_and_unit};
use crate::learn::{BatchRow, RecipeRow};
use crate::seawater::{Scale, parse_salinity};
use crate::units::{
    Duration, Gallon, LARGEST, Mass, PracticalSalinity, Temperature, Volume, factor_of, number_with_unit, parse,
    parse_base,
};

/// Most batches of a log: what is learned is learned anew after each.
const MOST_BATCHES: usize = 20_000;

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum What {
    Fresh,
    Salt,
    Salinity,
    Temperature,
    Hours,
    Ph,
    Lot,
}

/// Names of columns, besides those of salinity.
const NAMES: [(&str, What); 11] = [
    ("fresh water", What::Fresh),
    ("fresh", What::Fresh),
    ("water", What::Fresh),
    ("salt mix", What::Salt),
    ("salt", What::Salt),
    ("mix", What::Salt),
    ("temperature", What::Temperature),
    ("temp", What::Temperature),
    ("hours", What::Hours),
    ("ph", What::Ph),
    ("lot", What::Lot),
];

/// A column: what it holds, its unit, its place.
type Column = (What, String, usize);

/// Reads a log of batches: fresh water \[L\], salt mix \[g\] and salinity \[psu\], in other units where header or cell says so,
/// and where they are, temperature (25 °C otherwise), hours, pH and lot. Rows with a hole are named and left out.
pub fn read_batch_log(path: &Path) -> Result<(Vec<RecipeRow>, Vec<String>), AppError> {
    const NEEDED: [(What, &str); 3] =
        [(What::Fresh, "fresh_L"), (What::Salt, "salt_g"), (What::Salinity, "salinity_psu")];
    let allowed = "fresh_L, salt_g, salinity_psu, and if you like temperature_C, hours, pH, lot, date, note";
    let table = LogTable::read(path, allowed.into(), MOST_BATCHES)?;
    let known = |name: &str| {
        let fixed = NAMES.iter().find(|(n, _)| *n == name).map(|(_, what)| *what);
        fixed.or(SALINITY.contains(&name).then_some(What::Salinity))
    };
    let columns: Vec<Column> = table
        .header
        .iter()
        .enumerate()
        .filter_map(|(place, header)| name_and_unit(header, known, holds).map(|(what, unit)| (what, unit, place)))
        .collect();
    if let Some((_, wanted)) = NEEDED.iter().find(|(what, _)| !columns.iter().any(|c| c.0 == *what)) {
        return Err(table.refuse(format!("line 1: the column {wanted} is missing")));
    }
    let (mut rows, mut left_out) = (Vec::new(), Vec::new());
    for (line, record) in &table.rows {
        match row(&table, &columns, record) {
            Ok(row) => rows.push(row),
            Err(why) => left_out.push(table.in_line(*line, &format!("{why}; the row is left out"))),
        }
    }
    Ok((rows, left_out))
}

/// Whether a unit is one of what a column holds.
fn holds(what: What, unit: &str) -> bool {
    match what {
        What::Fresh => factor_of::<Volume>(unit, Gallon::Us).is_ok(),
        What::Salt => factor_of::<Mass>(unit, Gallon::Us).is_ok(),
        What::Salinity => Scale::parse(unit).is_ok(),
        What::Temperature => parse::<Temperature>(&format!("20 {unit}"), Gallon::Us).is_ok(),
        What::Hours => factor_of::<Duration>(unit, Gallon::Us).is_ok(),
        What::Ph | What::Lot => false,
    }
}

fn row(table: &LogTable, columns: &[Column], record: &StringRecord) -> Result<RecipeRow, String> {
    // A cell with its unit: its own, that of the header, or the usual one.
    let text = |what: What, usual: &str| -> Result<Option<String>, String> {
        let Some((_, unit, place)) = columns.iter().find(|c| c.0 == what) else { return Ok(None) };
        let Some(cell) = record.get(*place).filter(|t| !t.is_empty()) else { return Ok(None) };
        let header = table.header.get(*place).unwrap_or_default();
        let plain = if table.decimal_comma { cell.replace(',', ".") } else { cell.to_owned() };
        let (number, own) = number_with_unit(&plain).map_err(|_| format!("`{cell}` under {header} is no number"))?;
        if !(number.abs() <= LARGEST && (number > 0.0 || what == What::Temperature)) {
            return Err(format!("{header} of {number} cannot be"));
        }
        let unit = [own, unit.as_str(), usual].into_iter().find(|u| !u.is_empty()).unwrap_or_default();
        Ok(Some(format!("{number} {unit}")))
    };
    let needed = |what: What, usual: &str, name: &str| text(what, usual)?.ok_or_else(|| format!("{name} is empty"));
    let number = |text: Option<String>| text.and_then(|t| number_with_unit(&t).ok().map(|(n, _)| n));
    let temperature = match text(What::Temperature, "C")? {
        Some(text) => parse::<Temperature>(&text, Gallon::Unstated).map_err(|e| e.to_string())?,
        None => Temperature::from_celsius(25.0),
    };
    let fresh = needed(What::Fresh, "L", "fresh_L")?;
    let salt = needed(What::Salt, "g", "salt_g")?;
    let salinity = needed(What::Salinity, "psu", "salinity_psu")?;
    let salinity = match salinity.strip_suffix(" psu") {
        Some(psu) => PracticalSalinity::from_psu(psu.parse().unwrap_or(0.0)),
        None => parse_salinity(salinity.trim_end_matches(" sg"), temperature).map_err(|e| e.to_string())?,
    };
    let hours = text(What::Hours, "h")?.map(|t| parse_base::<Duration>(&t, Gallon::Unstated).map(|d| 24.0 * d));
    Ok(RecipeRow {
        batch: BatchRow {
            fresh: parse::<Volume>(&fresh, Gallon::Unstated).map_err(|e| e.to_string())?,
            salt_mix: parse::<Mass>(&salt, Gallon::Unstated).map_err(|e| e.to_string())?,
            salinity,
            temperature,
        },
        hours: hours.transpose().map_err(|e| e.to_string())?,
        ph: number(text(What::Ph, "")?),
        lot: columns
            .iter()
            .find(|c| c.0 == What::Lot)
            .and_then(|c| record.get(c.2))
            .filter(|t| !t.is_empty())
            .map(str::to_owned),
    })
}
