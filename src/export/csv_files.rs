//! `trace.csv`, `events.csv` and `ledger.csv` (RFC 4180), units in the column names.

use super::ExportError;
use crate::results::{EventRecord, Ledger, Trace};
use crate::solutes::Solute;

pub(super) fn bytes(writer: csv::Writer<Vec<u8>>) -> Result<Vec<u8>, ExportError> {
    writer.into_inner().map_err(|e| ExportError::Csv(csv::Error::from(e.into_error())))
}

pub(super) fn writer() -> csv::Writer<Vec<u8>> {
    csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new())
}

/// Rows in time. Numbers are the shortest text that reads back to the same `f64`.
pub fn trace_csv(trace: &Trace, solutes: &[Solute]) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    let mut header = vec!["time_d".to_owned(), "event".into(), "volume_L".into(), "salinity_psu".into()];
    header.extend(solutes.iter().map(Solute::column));
    out.write_record(&header)?;
    for i in 0..trace.len() {
        let mut row = vec![
            trace.time_d[i].to_string(),
            trace.event[i].to_owned(),
            trace.volume_l[i].to_string(),
            trace.salinity_psu[i].to_string(),
        ];
        row.extend(trace.solutes.iter().map(|column| column[i].to_string()));
        out.write_record(&row)?;
    }
    bytes(out)
}

/// Events with their particulars.
pub fn events_csv(events: &[EventRecord]) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    for event in events {
        out.serialize(event)?;
    }
    if events.is_empty() {
        out.write_record(["time_d", "event", "detail", "out_L", "in_L", "salinity_before_psu", "salinity_after_psu"])?;
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
