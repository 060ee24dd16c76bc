//! Many runs: measures of a plan, ranges of a key, grids of plans.

mod grid;
mod measure;
mod range;

pub use grid::{Grid, evaluate};
pub use measure::{Measure, MeasureError, Quantity, Statistic};
pub use range::{Range, RangeError};
