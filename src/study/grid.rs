//! Plans side by side, measured in parallel; the order is that of the plans, whatever the threads do.

use rayon::prelude::*;

use super::measure::{Measure, MeasureError, Measured};
use crate::model::Plan;

/// Values of a grid: a row a plan, a column a measure; a cell may have none, with the reason.
#[derive(Clone, Debug)]
pub struct Grid {
    /// Rows in the order of the plans.
    pub rows: Vec<Vec<Result<f64, MeasureError>>>,
}

/// Measures every plan.
#[must_use]
pub fn evaluate(plans: &[Plan], measures: &[Measure]) -> Grid {
    let rows = plans
        .par_iter()
        .map(|plan| {
            let mut measured = Measured::new(plan);
            measures.iter().map(|m| measured.value(m)).collect()
        })
        .collect();
    Grid { rows }
}
