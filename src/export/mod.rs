//! One file a format: results in, bytes out. Nothing here opens a file.

mod calendar;
mod card;
mod choice;
mod csv_files;
mod faults;
mod png;
mod report;
mod station;
mod studies;
mod svg;
mod terminal;

pub use calendar::{calendar_ics, plan_csv, shopping_csv};
pub use card::card_html;
pub use choice::choice_csv;
pub use csv_files::{events_csv, ledger_csv, trace_csv};
pub use faults::faults_csv;
pub use png::png;
pub use report::{Figure, report_html};
pub use station::{round_csv, rows_csv, shortage_csv, tanks_csv, trips_csv};
pub use studies::{comparison_csv, ensemble_csv, sensitivity_csv, sweep_csv};
pub use svg::{svg, svg_sized};
pub use terminal::{Detail, NARROWEST, terminal};

/// Escapes what XML and HTML reserve.
fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// Something that could not be turned into bytes.
#[derive(Debug, thiserror::Error)]
pub enum ExportError {
    /// A table.
    #[error("the table could not be written: {0}")]
    Csv(#[from] csv::Error),
    /// A picture.
    #[error(transparent)]
    Chart(#[from] crate::chart::ChartError),
    /// A bitmap.
    #[error("the bitmap could not be made: {0}")]
    Bitmap(String),
}
