//! Plans side by side, measured in parallel; the order is that of the plans, whatever the threads do.

use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;

use super::Going;
use super::measure::{Measure, MeasureError, Measured};
use crate::model::Plan;

/// Values of a grid: a row a plan, a column a measure; a cell may have none, with the reason.
#[derive(Clone, Debug)]
pub struct SweepGrid {
    /// Rows in the order of the plans.
    pub rows: Vec<Vec<Result<f64, MeasureError>>>,
}

/// Measures every plan; nothing where it was asked to stop.
#[must_use]
pub fn evaluate(plans: &[Plan], measures: &[Measure], going: Going<'_>) -> Option<SweepGrid> {
    let rows = each_in_parallel(plans, going, |plan| {
        let mut measured = Measured::new(plan, measures);
        measures.iter().map(|m| measured.value(m)).collect()
    });
    Some(SweepGrid { rows: rows? })
}

/// What `of` makes of every item, in order, in parallel; nothing where it was asked to stop.
#[must_use]
pub fn each_in_parallel<I: Sync, T: Send>(
    items: &[I],
    going: Going<'_>,
    of: impl Fn(&I) -> T + Sync,
) -> Option<Vec<T>> {
    let done = AtomicUsize::new(0);
    items
        .par_iter()
        .map(|item| {
            let share = done.fetch_add(1, Ordering::Relaxed) as f64 / items.len() as f64;
            going(share).then(|| of(item))
        })
        .collect()
}
