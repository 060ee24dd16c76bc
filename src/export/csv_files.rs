//! `trace.csv`, `events.csv` and `ledger.csv` (RFC 4180), units in the column names.

use jiff::SignedDuration;
use jiff::civil::{Date, Time};

use super::ExportError;
use crate::results::{EventRecord, Ledger, Trace};
use crate::solutes::Solute;

pub(super) fn bytes(writer: csv::Writer<Vec<u8>>) -> Result<Vec<u8>, ExportError> {
    writer.into_inner().map_err(|e| ExportError::Csv(csv::Error::from(e.into_error())))
}

pub(super) fn writer() -> csv::Writer<Vec<u8>> {
    csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new())
}

/// The instant some days after midnight of the first day, to the second (ISO 8601).
fn date(start: Date, days: f64) -> String {
    #[expect(clippy::cast_possible_truncation, reason = "seconds of a run, bounded")]
    let seconds = (days * 86_400.0).round() as i64;
    let at = start.to_datetime(Time::midnight()).checked_add(SignedDuration::from_secs(seconds));
    at.map_or(String::new(), |at| at.strftime("%Y-%m-%dT%H:%M:%S").to_string())
}

/// Rows in time, each with its date last. Numbers are the shortest text that reads back to the same `f64`.
pub fn trace_csv(trace: &Trace, solutes: &[Solute], start: Date) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    let mut header = vec!["time_d".to_owned(), "event".into(), "volume_L".into(), "salinity_psu".into()];
    header.extend(solutes.iter().map(Solute::column));
    header.push("date".into());
    out.write_record(&header)?;
    for i in 0..trace.len() {
        let mut row = vec![
            trace.time_d[i].to_string(),
            trace.event[i].to_owned(),
            trace.volume_l[i].to_string(),
            trace.salinity_psu[i].to_string(),
        ];
        row.extend(trace.solutes.iter().map(|column| column[i].to_string()));
        row.push(date(start, trace.time_d[i]));
        out.write_record(&row)?;
    }
    bytes(out)
}

/// Events with their particulars.
pub fn events_csv(events: &[EventRecord], start: Date) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    out.write_record([
        "time_d",
        "event",
        "detail",
        "out_L",
        "in_L",
        "salinity_before_psu",
        "salinity_after_psu",
        "date",
    ])?;
    for event in events {
        let EventRecord { time_d, event, detail, out_l, in_l, salinity_before_psu, salinity_after_psu } = event;
        let numbers = [out_l, in_l, salinity_before_psu, salinity_after_psu].map(f64::to_string);
        let row = [time_d.to_string(), (*event).to_owned(), detail.clone()].into_iter().chain(numbers);
        out.write_record(row.chain([date(start, *time_d)]))?;
    }
    bytes(out)
}

/// The books: a row a cause, inflow positive, and the residual last.
pub fn ledger_csv(ledger: &Ledger, solutes: &[Solute]) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    let mut header = vec!["cause".to_owned(), "water_kg".into(), "salt_kg".into()];
    header.extend(solutes.iter().map(Solute::amount_column));
    out.write_record(&header)?;
    let columns = 0..ledger.components();
    for cause in ledger.causes() {
        let mut row = vec![cause.key().to_owned()];
        row.extend(columns.clone().map(|j| ledger.amount(cause, j).to_string()));
        out.write_record(&row)?;
    }
    let mut row = vec!["residual".to_owned()];
    row.extend(columns.map(|j| ledger.residual(j).to_string()));
    out.write_record(&row)?;
    bytes(out)
}
