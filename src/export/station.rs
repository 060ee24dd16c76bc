//! A station's tables and text.

use super::ExportError;
use super::csv_files::{bytes, writer};
use crate::results::{Round, StationAnswer};

/// A row a tank.
pub fn tanks_csv(answer: &StationAnswer) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    out.write_record([
        "tank",
        "salinity_low_psu",
        "salinity_high_psu",
        "changes",
        "changed_L",
        "top_off_L",
        "left_at_d",
    ])?;
    for t in &answer.tanks {
        let numbers = [t.salinity_low, t.salinity_high].map(|n| n.to_string());
        let rest = [t.changes.to_string(), t.changed_l.to_string(), t.top_off_l.to_string()];
        let left = t.left_at_d.map_or(String::new(), |d| d.to_string());
        out.write_record([t.name.clone()].into_iter().chain(numbers).chain(rest).chain([left]))?;
    }
    bytes(out)
}

/// A row a stop.
pub fn round_csv(round: &Round) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    out.write_record(["day", "tank", "sick", "out_L", "mother_L", "trim_L", "top_off_L", "minutes"])?;
    for s in &round.stops {
        let numbers = [s.out_l, s.mother_l, s.trim_l, s.top_off_l, s.minutes].map(|n| n.to_string());
        out.write_record([round.day.clone(), s.name.clone(), s.sick.to_string()].into_iter().chain(numbers))?;
    }
    bytes(out)
}

/// A row a size.
pub fn shortage_csv(answer: &StationAnswer) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    out.write_record(["fresh_store_L", "chance_of_shortage"])?;
    for (size, chance) in &answer.shortage {
        out.write_record([size.to_string(), chance.to_string()])?;
    }
    bytes(out)
}
