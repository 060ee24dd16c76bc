//! Many runs: measures of a plan, ranges of a key, grids of plans.

mod ensemble;
mod grid;
mod measure;
mod range;
mod spread;

pub use ensemble::{
    DayToDay, Member, QUANTILES, miss_changes, quantile, quantiles, run_member, run_members, vary_evaporation,
};
pub use grid::{Grid, evaluate};
pub use measure::{Measure, MeasureError, Quantity, Statistic};
pub use range::{Range, RangeError};
pub use spread::{Spread, SpreadError, stream};
