//! `log`: what a log of a tank says, before anything is learned from it; and the same log after a calibration.

mod answer;
mod words;

pub use answer::{LogCheckAnswer, LogCheckResult, Rebased};

use std::path::Path;

use super::log::{LogBegin, LogReading, TankLog, read_tank_log, thinned};
use super::moment::days_after;
use super::{AppError, Loaded};
use crate::instruments::Calibration;
use crate::learn::LogRow;
use crate::results::Warning;
use crate::units::{PracticalSalinity, trimmed};

/// Reads a log for a scenario and says what was understood. With a calibration, readings of salinity from a day on are put
/// right.
pub fn log_check(
    loaded: &Loaded,
    path: &Path,
    reading: &LogReading,
    calibration: Option<(Calibration, Option<&str>)>,
) -> Result<LogCheckResult, AppError> {
    let plan = &loaded.scenario.plan;
    let TankLog { mut rows, left_out, begins, columns, form, unused } = read_tank_log(path, plan, reading)?;
    let last = rows.last().map_or(0.0, |row| row.time_d);
    let at = |day: f64| begins.written(day, true);
    let mut rebased = Vec::new();
    if let Some((calibration, from)) = calibration {
        let from_d = match (from, begins) {
            (None, _) => f64::NEG_INFINITY,
            (Some(text), LogBegin::At(first)) => super::instant(text)
                .map(|t| super::moment::days_between(first, t))
                .ok_or_else(|| AppError::Usage(format!("--since: `{text}` is no date; example: --since 2026-03-14")))?,
            (Some(text), LogBegin::Day(first)) => {
                let day: f64 =
                    text.trim_end_matches('d').trim().parse().map_err(|_| {
                        AppError::Usage(format!("--since: `{text}` is no day; example: --since \"30 d\""))
                    })?;
                day - first
            }
        };
        for row in rows.iter_mut().filter(|row| row.time_d >= from_d) {
            let Some(read) = row.salinity_psu else { continue };
            let psu = calibration.correct(PracticalSalinity::from_psu(read)).psu();
            row.salinity_psu = Some(psu);
            rebased.push(Rebased { when: at(row.time_d), read_psu: read, psu });
        }
    }
    let readings = rows.iter().filter(|row| row.salinity_psu.is_some()).count();
    let (_, stretch) = thinned(rows.clone());
    let answer = LogCheckAnswer {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        log: path.display().to_string(),
        scenario: loaded.scenario.name.clone(),
        form,
        rows: rows.len(),
        first: at(0.0),
        last: at(last),
        readings,
        warnings: unsaid(loaded, &rows, &unused),
        columns,
        thinned_to_h: stretch.map(|d| 24.0 * d),
        left_out,
        rebased,
    };
    let start = match begins {
        LogBegin::At(at) => Some(at),
        LogBegin::Day(_) => None,
    };
    Ok(LogCheckResult { table: table(loaded, &rows, start)?, answer })
}

/// What the log does not say, and the scenario says in its place.
fn unsaid(loaded: &Loaded, rows: &[LogRow], unused: &[String]) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if rows.iter().all(|row| row.salinity_psu.is_none()) {
        warnings.push(Warning::new(
            "no-readings",
            "the log has no reading of salinity",
            "add a column salinity_psu, or name yours with --column",
        ));
    }
    if rows.iter().all(|row| row.change_l.is_none()) && !loaded.scenario.plan.regime.changes.is_empty() {
        warnings.push(Warning::new(
            "changes-of-the-scenario",
            "the log does not say when water was changed, so fit assumes the scenario's changes",
            "add a column change_L, 0 where there was none",
        ));
    }
    if rows.iter().all(|row| row.top_off_l.is_none()) {
        warnings.push(Warning::new(
            "no-top-off",
            "the log does not say how much top-off was used, so evaporation is known from salinity only",
            "add a column top_off_L: all that was used since it was last noted",
        ));
    }
    warnings.extend(not_used(unused));
    warnings
}

/// Columns that are not known here.
pub(super) fn not_used(unused: &[String]) -> Option<Warning> {
    (!unused.is_empty()).then(|| {
        Warning::new(
            "columns-not-used",
            format!("columns not known and not used: {}", unused.join(", ")),
            "say what a column means, as in --column \"nitrate (mg/L)=NO3 test\"",
        )
    })
}

/// The log as this program writes it.
fn table(loaded: &Loaded, rows: &[LogRow], start: Option<jiff::civil::DateTime>) -> Result<Vec<u8>, AppError> {
    let plan = &loaded.scenario.plan;
    let fail = |e: csv::Error| AppError::Usage(e.to_string());
    let mut out = csv::Writer::from_writer(Vec::new());
    let mut head = vec![if start.is_some() { "date" } else { "time_d" }.to_owned(), "salinity_psu".into()];
    head.extend(plan.species.iter().map(|s| s.solute.column()));
    head.extend(["top_off_L", "change_L", "salt_added_g", "batch_psu"].map(String::from));
    out.write_record(&head).map_err(fail)?;
    let cell = |v: Option<f64>| v.map_or(String::new(), |v| trimmed(v, 4));
    for row in rows {
        let when = match start {
            Some(start) => days_after(start, row.time_d)?.strftime("%Y-%m-%dT%H:%M").to_string(),
            None => row.time_d.to_string(),
        };
        let mut record = vec![when, cell(row.salinity_psu)];
        record.extend(row.solutes.iter().map(|v| cell(*v)));
        record.extend([row.top_off_l, row.change_l, row.salt_added_kg.map(|kg| 1e3 * kg), row.batch_psu].map(cell));
        out.write_record(&record).map_err(fail)?;
    }
    out.into_inner().map_err(|e| AppError::Usage(e.to_string()))
}
