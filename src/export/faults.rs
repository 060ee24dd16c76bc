//! Faults as a table and for a terminal.

use super::ExportError;
use super::csv_files::{bytes, writer};
use crate::results::Faults;

/// A row a fault and quantity.
pub fn faults_csv(faults: &Faults) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    out.write_record([
        "fault",
        "size",
        "lasted_d",
        "severity",
        "quantity",
        "unit",
        "worst",
        "worst_after_d",
        "without",
        "left_after_d",
        "left_anyway",
        "spill_L",
        "first_sign",
        "seen_after_d",
        "seen_by_end",
        "seen_before_harm",
        "limit",
    ])?;
    let maybe = |v: Option<f64>| v.map_or(String::new(), |v| v.to_string());
    for f in &faults.faults {
        for e in &f.effects {
            out.write_record([
                f.key.clone(),
                f.size.clone(),
                f.lasted_d.to_string(),
                f.severity.to_string(),
                e.key.clone(),
                e.unit.clone(),
                e.worst.to_string(),
                e.worst_after_d.to_string(),
                e.without.to_string(),
                maybe(e.left_after_d),
                e.left_anyway.to_string(),
                f.spill_l.to_string(),
                f.first_sign.as_ref().map_or(String::new(), |s| s.what.clone()),
                maybe(f.first_sign.as_ref().map(|s| s.after_d)),
                f.seen_by_end.to_string(),
                maybe(f.seen_before_harm),
                String::new(),
            ])?;
        }
        if let Some(harm) = &f.harm {
            let mut row = vec![String::new(); 17];
            row[..7].clone_from_slice(&[
                f.key.clone(),
                f.size.clone(),
                f.lasted_d.to_string(),
                f.severity.to_string(),
                harm.of.clone(),
                harm.unit.clone(),
                harm.worst.to_string(),
            ]);
            row[16] = harm.limit.to_string();
            out.write_record(row)?;
        }
    }
    bytes(out)
}
