//! The loops over lanes, as wide as the machine that runs them.
//!
//! What is built serves any machine of a kind; most can do more than the least of them, which is found out when the
//! program runs. A number does not depend on it: the same operations are done on more lanes at a time.

use super::{EngineError, MemberBatch, OutputGrid};

/// A run of lanes, to be done with what the machine has.
pub(super) struct Wide<'a, 'c> {
    pub(super) lanes: &'a mut MemberBatch,
    pub(super) end: f64,
    pub(super) grid: OutputGrid,
    pub(super) cells: &'a mut [&'c mut [f64]],
}

impl pulp::WithSimd for Wide<'_, '_> {
    type Output = Result<(), EngineError>;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Self::Output {
        self.lanes.run_wide(self.end, self.grid, self.cells)
    }
}
