//! Tables of studies as CSV, and the comparison as text.

use super::ExportError;
use super::csv_files::{bytes, writer};
use crate::results::{Comparison, Ensemble, Sensitivity, Sweep};
use crate::solutes::in_column;

fn column(name: &str, unit: &str) -> String {
    let unit = in_column(unit);
    if unit.is_empty() { name.replace(['.', ' '], "_") } else { format!("{}_{unit}", name.replace(['.', ' '], "_")) }
}

/// A row a plan: the keys, then the measures, units in the names.
pub fn sweep_csv(sweep: &Sweep) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    let keys = sweep.keys.iter().zip(&sweep.key_units);
    let measures = sweep.measures.iter().zip(&sweep.measure_units);
    let head = keys.chain(measures).map(|(name, unit)| column(name, unit));
    out.write_record(head.chain(["bands_kept".to_owned()]))?;
    for ((point, values), kept) in sweep.points.iter().zip(&sweep.values).zip(&sweep.bands_kept) {
        let cells = point.iter().map(ToString::to_string);
        let cells = cells.chain(values.iter().map(|v| v.map_or(String::new(), |v| v.to_string())));
        out.write_record(cells.chain([kept.map_or(String::new(), |kept| kept.to_string())]))?;
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
