//! Reading a tank log: CSV with units in the header, tolerant of gaps and of order.

use std::path::Path;

use jiff::civil::{Date, DateTime};

use super::AppError;
use super::log_table::LogTable;
use super::moment::{days_between, instant};
use crate::learn::LogRow;
use crate::model::Plan;
use crate::solutes::Base;

/// In which order the parts of a date stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DateOrder {
    /// 2026-03-14.
    Iso,
    /// 14/03/2026.
    DayFirst,
    /// 03/14/2026.
    MonthFirst,
}

/// Longest time between the first row and the last \[d\]: that of the longest run.
const LONGEST_D: f64 = 36_525.0;

/// A log that was read: its rows in time order, and each row or cell that was left out, with line and reason.
#[derive(Clone, Debug)]
pub struct TankLog {
    /// Rows.
    pub rows: Vec<LogRow>,
    /// Left out.
    pub left_out: Vec<String>,
    /// When its first row is: a date, or days as the log counts them.
    pub begins: LogBegin,
}

/// When a log begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LogBegin {
    /// At a time of the calendar.
    At(DateTime),
    /// So many days from the start.
    Day(f64),
}

/// Reads a log for the solutes of a plan. Columns: `date` or `time_d`; `salinity_psu`; a solute as `nitrate_mg_per_L`;
/// `top_off_L` (since it was last noted, or the first row), `change_L`, `salt_added_g` (dry salt), `batch_psu`, `note`. Empty cells are what was not noted.
pub fn read_tank_log(path: &Path, plan: &Plan, order: DateOrder) -> Result<TankLog, AppError> {
    // A solute that is counted by its nitrogen may be written as its name says too.
    let columns: Vec<Vec<(String, f64)>> = plan
        .species
        .iter()
        .map(|s| {
            let plain = (s.solute.base == Base::MilligramsOfNitrogen)
                .then(|| (format!("{}_mg_per_L", s.solute.key), s.solute.plain));
            std::iter::once((s.solute.column(), 1.0)).chain(plain).collect()
        })
        .collect();
    let solutes: Vec<&String> = columns.iter().flatten().map(|(name, _)| name).collect();
    let known = ["date", "time_d", "salinity_psu", "top_off_L", "change_L", "salt_added_g", "batch_psu", "note"];
    let allowed = known
        .iter()
        .map(ToString::to_string)
        .chain(solutes.iter().map(ToString::to_string))
        .collect::<Vec<_>>()
        .join(", ");
    let table = LogTable::read(path, allowed)?;
    if let Some(odd) =
        table.header.iter().find(|h| !h.is_empty() && !known.contains(h) && !solutes.iter().any(|s| *s == h))
    {
        return Err(table.refuse(format!("line 1: the column `{odd}` is not known here")));
    }
    if !table.has("date") && !table.has("time_d") {
        return Err(table.refuse("line 1: neither date nor time_d is there"));
    }
    let (mut rows, mut left_out): (Vec<(u64, LogRow)>, Vec<String>) = (Vec::new(), Vec::new());
    let (mut first, mut earliest): (Option<DateTime>, Option<DateTime>) = (None, None);
    for (line, record) in &table.rows {
        let mut cell = |wanted: &str, low: f64, high: f64| -> Option<f64> {
            let text = table.cell(record, wanted)?;
            match text.parse::<f64>() {
                Ok(v) if (low..=high).contains(&v) => Some(v),
                Ok(v) => {
                    let why = format!("{wanted} of {v} cannot be ({low} to {high}); the cell is left out");
                    left_out.push(table.in_line(*line, &why));
                    None
                }
                Err(_) => {
                    let why = format!("`{text}` under {wanted} is no number; the cell is left out");
                    left_out.push(table.in_line(*line, &why));
                    None
                }
            }
        };
        let mut row = LogRow {
            time_d: 0.0,
            salinity_psu: cell("salinity_psu", 0.0, 60.0),
            solutes: columns
                .iter()
                .map(|names| names.iter().find_map(|(name, scale)| cell(name, 0.0, 1e5).map(|v| v * scale)))
                .collect(),
            top_off_l: cell("top_off_L", 0.0, 1e7),
            change_l: cell("change_L", 0.0, 1e7),
            salt_added_kg: cell("salt_added_g", 0.0, 1e6).map(|g| 1e-3 * g),
            batch_psu: cell("batch_psu", 0.0, 42.0),
        };
        let when = if table.has("date") {
            let date = table.cell(record, "date").and_then(|text| read_date(text, order));
            earliest = earliest.into_iter().chain(date).min();
            date.map(|when| days_between(*first.get_or_insert(when), when))
        } else {
            table.cell(record, "time_d").and_then(|t| t.parse::<f64>().ok()).filter(|t| t.is_finite())
        };
        if let Some(time_d) = when {
            row.time_d = time_d;
            rows.push((*line, row));
        } else {
            let text = table.cell(record, if table.has("date") { "date" } else { "time_d" }).unwrap_or_default();
            let why = format!("`{text}` is no date or time that can be read; the row is left out");
            left_out.push(table.in_line(*line, &why));
        }
    }
    let day = rows.iter().map(|(_, row)| row.time_d).reduce(f64::min).unwrap_or(0.0);
    let begins = earliest.map_or(LogBegin::Day(day), LogBegin::At);
    Ok(TankLog { rows: in_order(&table, rows)?, left_out, begins })
}

/// The rows in the order of time, the first at zero.
fn in_order(table: &LogTable, mut rows: Vec<(u64, LogRow)>) -> Result<Vec<LogRow>, AppError> {
    rows.sort_by(|(_, a), (_, b)| a.time_d.total_cmp(&b.time_d));
    if let (Some((early, first)), Some((late, last))) = (rows.first(), rows.last())
        && last.time_d - first.time_d > LONGEST_D
    {
        return Err(table.refuse(format!(
            "from line {early} to line {late} are more than the {LONGEST_D} days of the longest run: one of the dates is wrong"
        )));
    }
    let begin = rows.first().map_or(0.0, |(_, r)| r.time_d);
    Ok(rows.into_iter().map(|(_, row)| LogRow { time_d: row.time_d - begin, ..row }).collect())
}

fn read_date(text: &str, order: DateOrder) -> Option<DateTime> {
    if order == DateOrder::Iso {
        return instant(text);
    }
    let parts: Vec<&str> = text.split(['/', '.', '-']).collect();
    let [a, b, year] = parts.as_slice() else { return None };
    let (a, b, year) = (a.parse::<i8>().ok()?, b.parse::<i8>().ok()?, year.parse::<i16>().ok()?);
    let (day, month) = if order == DateOrder::DayFirst { (a, b) } else { (b, a) };
    Date::new(year, month, day).ok().map(DateTime::from)
}
