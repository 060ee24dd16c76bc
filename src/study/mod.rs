//! Many runs: measures of a plan, ranges of a key, grids of plans, members under uncertainty.

mod absence;
mod choose;
mod correlation;
mod fault_run;
mod goal;
mod grid;
mod information;
mod lived;
mod measure;
mod members;
mod range;
mod shortage;
mod spread;
mod uncertainty;
mod vary;

pub use absence::{Absent, absence, goes_on, nobody_there, sure_days};
pub use choose::{
    Judged, Lens, Yearly, band_use, judge, judge_all, keeps, kept_each, least_remedy, on_front, span, started_settled,
    worst_use,
};
pub use correlation::Correlation;
pub use fault_run::{ALARM_SIGMAS, Attendance, Course, FaultRun, NOTICED, Sample, alarm_chance, course, try_fault};
pub use goal::{Root, Roots, roots};
pub use grid::{SweepGrid, each_in_parallel, evaluate};
pub use information::saved_by_reading;
pub use lived::{Lived, live};
pub use measure::{
    MEASURES, Measure, MeasureError, MeasuredQuantity, Statistic, USUAL_MEASURE, measure, usual_measures,
};
pub use members::{Block, Fate, QUANTILES, WalkError, grid_rows, interval, walk, walk_watched_from};
pub use range::{KeyRange, KeyRangeError};
pub use shortage::{Demand, shortage_chance, stores_needed};
pub use spread::{Spread, SpreadError, stream};
pub use uncertainty::{Uncertainty, parse_day_to_day};
pub use vary::{err_in_readings, miss_batches, miss_changes, miss_readings, vary_evaporation};

/// Told the share of the work that is done; `false` stops it.
pub type Going<'a> = &'a (dyn Fn(f64) -> bool + Sync);
