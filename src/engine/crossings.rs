//! When each band is first left, and nothing else: what an ensemble asks of every member.

use super::watch::look_closely;
use super::{Observer, Row, Segment, Watch};
use crate::model::Band;

/// Watches the bands of a run until each has been left.
#[derive(Clone, Debug)]
pub struct Crossings {
    watches: Vec<Watch>,
}

impl Crossings {
    /// Watches these bands.
    #[must_use]
    pub fn new(bands: &[Band]) -> Self {
        Self { watches: bands.iter().map(|band| Watch::new(Some(band.of), Some(*band))).collect() }
    }

    /// When each band was first left \[d\], in their order.
    #[must_use]
    pub fn left_at(&self) -> Vec<Option<f64>> {
        self.watches.iter().map(|w| w.left_at_d).collect()
    }
}

impl Observer for Crossings {
    fn row(&mut self, row: &Row<'_>) {
        for watch in self.watches.iter_mut().filter(|w| w.left_at_d.is_none()) {
            watch.note_leaving(row);
        }
    }

    fn looks_inside(&self) -> bool {
        true
    }

    fn wants_words(&self) -> bool {
        false
    }

    fn segment(&mut self, segment: &mut Segment<'_>) {
        let mut close = Vec::new();
        for watch in self.watches.iter_mut().filter(|w| w.left_at_d.is_none()) {
            if watch.of.is_none_or(|of| segment.goes_one_way(of)) {
                if segment.ends().iter().any(|end| watch.is_outside(watch.value(end))) {
                    watch.outside(segment, 0.0, segment.days);
                }
            } else if segment.reach(watch.of).is_none_or(|reach| reach.iter().any(|v| watch.is_outside(*v))) {
                close.push(watch);
            }
        }
        look_closely(&mut close, segment);
    }
}
