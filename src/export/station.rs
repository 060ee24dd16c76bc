//! A station's tables and text.

use super::ExportError;
use super::csv_files::{bytes, writer};
use crate::results::{Round, RoundStop, StationAnswer, TripLine};

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
    out.write_record(ROUND)?;
    for s in &round.stops {
        out.write_record([round.day.clone()].into_iter().chain(stop(s)))?;
    }
    bytes(out)
}

/// A row a stop of each trip.
pub fn trips_csv(trips: &[TripLine]) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    out.write_record(["leaves", "back"].into_iter().chain(ROUND.into_iter().skip(1)))?;
    for trip in trips {
        for s in &trip.stops {
            out.write_record([trip.leaves.clone(), trip.back.clone()].into_iter().chain(stop(s)))?;
        }
    }
    bytes(out)
}

const ROUND: [&str; 9] = ["day", "tank", "arrive", "sick", "out_L", "mother_L", "trim_L", "top_off_L", "minutes"];

fn stop(s: &RoundStop) -> impl Iterator<Item = String> {
    let numbers = [s.out_l, s.mother_l, s.trim_l, s.top_off_l, s.minutes].map(|n| n.to_string());
    [s.name.clone(), s.arrive.clone(), s.sick.to_string()].into_iter().chain(numbers)
}

/// A row for each of a list, its columns named as in the JSON.
pub fn rows_csv<T: serde::Serialize>(rows: &[T], columns: &[&str]) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    if rows.is_empty() {
        out.write_record(columns)?;
    }
    for row in rows {
        out.serialize(row)?;
    }
    bytes(out)
}

/// A row a size.
pub fn shortage_csv(answer: &StationAnswer) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    out.write_record(["fresh_store_L", "chance_of_shortage"])?;
    for at in &answer.shortage {
        out.write_record([at.size_l.to_string(), at.chance.to_string()])?;
    }
    bytes(out)
}
