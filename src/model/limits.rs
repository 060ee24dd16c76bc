//! What a plan may hold, said once: files, builders and the engine go by these bounds.

use crate::units::{Volume, VolumeRate};

/// Smallest and largest system \[L\].
pub const SYSTEM_L: std::ops::RangeInclusive<f64> = 0.1..=1e7;
/// Temperatures \[°C\] of the equation of state.
pub const TEMPERATURE_C: std::ops::RangeInclusive<f64> = -2.0..=40.0;
/// Salinities \[psu\] that the practical scale knows.
pub const SALINITY_PSU: std::ops::RangeInclusive<f64> = 0.0..=42.0;
/// Longest run \[d\]: a century.
pub const LONGEST_RUN_D: f64 = 36_525.0;
/// Shortest spacing of the output grid \[d\]: a second.
pub const SHORTEST_OUTPUT_D: f64 = 1.0 / 86_400.0;
/// Most rows of the output grid.
pub const MOST_ROWS: f64 = 2_000_000.0;
/// Shortest interval between two times of the same work \[d\]: ten minutes.
pub const SHORTEST_D: f64 = 10.0 / 1440.0;
/// Most times that one thing is done in a run.
pub const MOST_TIMES: f64 = 500_000.0;
/// Most solutes.
pub const MOST_SOLUTES: usize = 200;
/// Fastest first-order reaction \[1/d\]: a half-life of under a minute is at once.
pub const FASTEST_PER_DAY: f64 = 1000.0;
/// Largest share of the system that one change takes out.
pub const LARGEST_SHARE: f64 = 0.95;
/// Most volumes of the system that a flow passes in a day.
pub const MOST_VOLUMES_PER_DAY: f64 = 1000.0;

/// Whether a system can have a flow.
#[must_use]
pub fn can_flow(flow: VolumeRate, operating: Volume) -> bool {
    flow.litres_per_day() <= MOST_VOLUMES_PER_DAY * operating.litres()
}
