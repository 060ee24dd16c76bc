//! The rows of an even grid in time, as they come due.

use super::event_queue::SAME_INSTANT_D;

/// Rows of a grid that are wanted.
#[derive(Clone, Copy, Debug)]
pub struct OutputGrid {
    /// Interval of the grid \[d\].
    pub every: f64,
    /// The next row.
    pub next: usize,
    /// One past the last.
    pub last: usize,
}

impl OutputGrid {
    /// Whether the next row is due by a time \[d\]; if so, it is taken.
    pub fn take_due(&mut self, time_d: f64) -> bool {
        let is_due = self.next < self.last && time_d >= self.every * self.next as f64 - SAME_INSTANT_D;
        self.next += usize::from(is_due);
        is_due
    }
}
