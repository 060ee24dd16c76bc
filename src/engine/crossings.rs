//! When each band is first left, and nothing else: what an ensemble asks of every member.

use super::statistics::look_inside;
use super::{Observer, Row, Segment, Statistic};
use crate::model::Band;

/// Watches the bands of a run until each has been left.
#[derive(Clone, Debug)]
pub struct Crossings {
    variables: Vec<Statistic>,
}

impl Crossings {
    /// Watches these bands.
    #[must_use]
    pub fn new(bands: &[Band]) -> Self {
        Self { variables: bands.iter().map(|band| Statistic::new(Some(band.of), Some(*band))).collect() }
    }

    /// When each band was first left \[d\], in their order.
    #[must_use]
    pub fn left_at(&self) -> Vec<Option<f64>> {
        self.variables.iter().map(|w| w.left_at_d).collect()
    }
}

impl Observer for Crossings {
    fn row(&mut self, row: &Row<'_>) {
        for watch in self.variables.iter_mut().filter(|w| w.left_at_d.is_none()) {
            watch.note_leaving(row);
        }
    }

    fn looks_inside(&self) -> bool {
        true
    }

    fn segment(&mut self, segment: &mut Segment<'_>) {
        let inside = self.variables.iter_mut().filter(|w| w.left_at_d.is_none());
        look_inside(inside, segment, Statistic::cross);
    }
}
