//! The observer that keeps everything for a report.

use super::{Observer, Row, Segment, Statistics};
use crate::model::Plan;
use crate::results::{EventRecord, Trace};

/// Rows for which there is room from the beginning, at most.
const MOST_ROOM: f64 = 1e4;

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
    /// A recorder for the solutes and bands of a plan.
    #[must_use]
    pub fn new(plan: &Plan) -> Self {
        let solutes = plan.species.len();
        // Most runs have a row of the grid and one of an act beside it.
        let rows = plan.output_every.map_or(0.0, |every| 2.0 * (plan.horizon / every));
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of rows, bounded")]
        let rows = rows.min(MOST_ROOM) as usize;
        Self {
            trace: Trace::with_room(solutes, rows),
            events: Vec::new(),
            statistics: Statistics::new(solutes, &plan.bands),
        }
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
