//! Tables of studies as CSV, and the comparison as text.

use super::ExportError;
use super::csv_files::{bytes, writer};
use crate::results::{Comparison, Ensemble, Sensitivity, Sweep, Warning};
use crate::solutes::{View, in_column};
use crate::units::{significant, trimmed};

fn column(name: &str, unit: &str) -> String {
    let unit = in_column(unit);
    if unit.is_empty() { name.replace(['.', ' '], "_") } else { format!("{}_{unit}", name.replace(['.', ' '], "_")) }
}

/// A row a plan: the keys, then the measures, units in the names.
pub fn sweep_csv(sweep: &Sweep) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    let keys = sweep.keys.iter().zip(&sweep.key_units);
    let measures = sweep.measures.iter().zip(&sweep.measure_units);
    out.write_record(keys.chain(measures).map(|(name, unit)| column(name, unit)))?;
    for (point, values) in sweep.points.iter().zip(&sweep.values) {
        let cells = point.iter().map(ToString::to_string);
        out.write_record(cells.chain(values.iter().map(|v| v.map_or(String::new(), |v| v.to_string()))))?;
    }
    bytes(out)
}

/// A row a quantity, a column a variant, then a column for what each variant changes.
pub fn comparison_csv(comparison: &Comparison) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    let changes = comparison.names[1..].iter().map(|n| format!("{n} less {}", comparison.names[0]));
    let head = ["quantity".to_owned(), "unit".into()].into_iter().chain(comparison.names.iter().cloned());
    out.write_record(head.chain(changes))?;
    let cell = |v: Option<f64>| v.map_or(String::new(), |v| v.to_string());
    for row in comparison.rows() {
        let cells = row.values.iter().map(|v| cell(*v));
        let changes = row.values[1..].iter().map(|v| cell(v.zip(row.values[0]).map(|(a, b)| a - b)));
        out.write_record([row.what.clone(), row.unit.clone()].into_iter().chain(cells).chain(changes))?;
    }
    bytes(out)
}

/// A row a time: the quantiles of every quantity, then the chance to have left each band.
pub fn ensemble_csv(ensemble: &Ensemble) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    let mut header = vec!["time_d".to_owned()];
    for q in &ensemble.quantities {
        header.extend(ensemble.levels.iter().map(|l| column(&format!("{} q{:02.0}", q.key, 100.0 * l), &q.unit)));
    }
    header.extend(ensemble.chances.iter().map(|c| format!("{}_chance_left", c.key)));
    out.write_record(&header)?;
    for (i, time) in ensemble.time_d.iter().enumerate() {
        let mut row = vec![time.to_string()];
        for q in &ensemble.quantities {
            row.extend(q.quantiles.iter().map(|values| values[i].map_or(String::new(), |v| v.to_string())));
        }
        row.extend(ensemble.chances.iter().map(|c| c.by_time[i].to_string()));
        out.write_record(&row)?;
    }
    bytes(out)
}

/// The ensemble for a terminal: quantiles at the end, chances with their errors.
#[must_use]
pub fn ensemble_text(ensemble: &Ensemble, view: &View) -> String {
    let count = ensemble.members[1] - ensemble.members[0];
    let mut text =
        format!("{}, {} basis, {count} members, seed {}\n", ensemble.scenario, ensemble.basis, ensemble.seed);
    text += &format!("\nAt the end (day {}):\n{:<14}", trimmed(ensemble.time_d.last().copied().unwrap_or(0.0), 1), "");
    for level in &ensemble.levels {
        text += &format!("{:>10}", format!("{} %", trimmed(100.0 * level, 0)));
    }
    text += "  unit\n";
    for q in &ensemble.quantities {
        let shown = view.of(&q.key, &q.unit);
        text += &format!("{:<14}", q.key);
        for values in &q.quantiles {
            let last = values.last().copied().flatten();
            text += &format!("{:>10}", last.map_or("-".into(), |v| significant(shown.value(v), 4)));
        }
        text += &format!("  {}\n", shown.unit);
    }
    text += "\nChance to leave a band within the run:\n";
    for chance in &ensemble.chances {
        let error = trimmed(100.0 * chance.standard_error, 1);
        let when =
            chance.median_left_at_d.map_or(String::new(), |d| format!(", by day {} in half of those", trimmed(d, 1)));
        text += &format!("  {:<14}{:>6} % (± {error}){when}\n", chance.key, trimmed(100.0 * chance.chance, 1));
    }
    text + &warnings_text(&ensemble.warnings)
}

/// The comparison as a table for a terminal.
#[must_use]
pub fn comparison_text(comparison: &Comparison, view: &View) -> String {
    let mut text = format!("{}, {} basis\n\n", comparison.scenario, comparison.basis);
    text += &format!("{:<30}", "");
    for name in &comparison.names {
        text += &format!("{:>13}", name.chars().take(12).collect::<String>());
    }
    text += "  unit\n";
    for row in comparison.rows().into_iter().map(|row| row.shown(view)) {
        text += &format!("{:<30}", row.what.replace('_', " "));
        for value in &row.values {
            text += &format!("{:>13}", value.map_or("-".into(), |v| significant(v, 4)));
        }
        text += &format!("  {}\n", row.unit);
    }
    let moved = comparison.differences(MOST_DIFFERENCES);
    for ((name, moved), driver) in comparison.names[1..].iter().zip(moved).zip(comparison.drivers()) {
        text += &format!("\nWhat `{name}` changes most:\n");
        if moved.is_empty() {
            text += "  nothing\n";
        }
        for (row, by) in moved {
            let shown = view.of(&row.what, &row.unit);
            text += &format!(
                "  {:<30}{}{} {}\n",
                row.what.replace('_', " "),
                if by > 0.0 { "+" } else { "" },
                significant(shown.step(by), 3),
                shown.unit
            );
        }
        if let Some((cause, by, unit)) = driver {
            let sign = if by > 0.0 { "+" } else { "" };
            text += &format!("  what drives its salinity: {cause}, {sign}{} {}\n", significant(by, 2), unit);
        }
    }
    text
}

/// Differences that are named for each variant.
const MOST_DIFFERENCES: usize = 5;

/// The sweep as a table for a terminal: every point where they are few, the ends and the middle otherwise.
#[must_use]
pub fn sweep_text(sweep: &Sweep, view: &View) -> String {
    const FEW: usize = 30;
    let sweep = &sweep.shown(view);
    let head = |name: &str, unit: &str| format!("{name} [{unit}]");
    let mut text = format!("{}, {} basis, {} plans\n", sweep.scenario, sweep.basis, sweep.points.len());
    let keys = sweep.keys.iter().zip(&sweep.key_units);
    for (i, (name, unit)) in keys.chain(sweep.measures.iter().zip(&sweep.measure_units)).enumerate() {
        text += &format!("  ({}) {}\n", i + 1, head(name, unit));
    }
    let columns = sweep.keys.len() + sweep.measures.len();
    for i in 0..columns {
        text += &format!("{:>12}", format!("({})", i + 1));
    }
    text += "\n";
    let shown = sweep.points.len().min(FEW);
    for (point, values) in sweep.points.iter().zip(&sweep.values).take(shown) {
        for number in point.iter().copied().map(Some).chain(values.iter().copied()) {
            text += &format!("{:>12}", number.map_or("-".into(), |v| significant(v, 4)));
        }
        text += "\n";
    }
    if shown < sweep.points.len() {
        text += &format!("... {} more in sweep.csv\n", sweep.points.len() - shown);
    }
    text + &warnings_text(&sweep.warnings)
}

/// Warnings, each with its advice.
#[must_use]
pub fn warnings_text(warnings: &[Warning]) -> String {
    warnings
        .iter()
        .fold(String::new(), |text, w| text + &format!("Warning ({}): {}.\n  Try: {}.\n", w.code, w.text, w.advice))
}

/// A row an input of each measure.
pub fn sensitivity_csv(sensitivity: &Sensitivity) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    out.write_record([
        "measure",
        "unit",
        "key",
        "spread",
        "first",
        "first_half_width",
        "total",
        "total_half_width",
        "at_medians",
        "at_5_percent",
        "at_95_percent",
    ])?;
    for m in &sensitivity.measures {
        for i in &m.inputs {
            let numbers = [i.first, i.first_half_width, i.total, i.total_half_width, m.at_medians, i.at_low, i.at_high];
            let words = [&m.measure, &m.unit, &i.key, &i.spread].map(Clone::clone);
            out.write_record(words.into_iter().chain(numbers.map(|n| n.to_string())))?;
        }
    }
    bytes(out)
}

/// The sensitivities for a terminal: a table a measure.
#[must_use]
pub fn sensitivity_text(sensitivity: &Sensitivity, view: &View) -> String {
    let mut text = format!(
        "{}, {} basis, {} runs, seed {}\n",
        sensitivity.scenario, sensitivity.basis, sensitivity.runs, sensitivity.seed
    );
    for m in &sensitivity.measures {
        let shown = view.of(&m.measure, &m.unit);
        let value = |v: f64| significant(shown.value(v), 4);
        text += &format!(
            "\n{}: {} {} at the medians; {} on the mean, standard deviation {}\n",
            m.measure,
            value(m.at_medians),
            shown.unit,
            value(m.mean),
            significant(shown.step(m.deviation), 2)
        );
        text += &format!("{:<28}{:>12}{:>12}{:>11}{:>11}\n", "", "alone %", "in all %", "at 5 %", "at 95 %");
        for i in &m.inputs {
            let share = |v: f64, half: f64| format!("{} ± {}", trimmed(100.0 * v, 0), trimmed(100.0 * half, 0));
            text += &format!(
                "{:<28}{:>12}{:>12}{:>11}{:>11}\n",
                i.key,
                share(i.first, i.first_half_width),
                share(i.total, i.total_half_width),
                value(i.at_low),
                value(i.at_high)
            );
        }
        text += &format!("{}\n", m.advice);
    }
    text + &warnings_text(&sensitivity.warnings)
}
