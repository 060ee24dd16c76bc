//! The observer that keeps everything for a report.

use super::{Observer, Row, Segment, Statistics};
use crate::model::Band;
use crate::results::{EventRecord, Trace};

/// Records the trace, the events and the statistics.
#[derive(Clone, Debug)]
pub struct Recorder {
    /// Rows.
    pub trace: Trace,
    /// Events.
    pub events: Vec<EventRecord>,
    /// Statistics.
    pub statistics: Statistics,
}

impl Recorder {
    /// A recorder for a number of solutes and their bands.
    #[must_use]
    pub fn new(solutes: usize, bands: &[Band]) -> Self {
        Self { trace: Trace::new(solutes), events: Vec::new(), statistics: Statistics::new(solutes, bands) }
    }
}

impl Observer for Recorder {
    fn row(&mut self, row: &Row<'_>) {
        self.trace.row(row);
        self.statistics.row(row);
    }
    fn event(&mut self, event: EventRecord) {
        self.events.push(event);
    }
    fn wants_words(&self) -> bool {
        true
    }
    fn looks_inside(&self) -> bool {
        true
    }
    fn segment(&mut self, segment: &mut Segment<'_>) {
        self.statistics.segment(segment);
    }
}
