//! Seeing a drift of salinity in readings: how long it takes, and what a log says.

use statrs::distribution::{ContinuousCDF, Normal};

use crate::model::DayToDay;
use crate::numerics::ControlChart;

/// How readings are taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Habit {
    /// Days between readings.
    pub every_d: f64,
    /// One standard deviation of a reading \[psu\].
    pub deviation_psu: f64,
}

/// A way of looking at readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Way {
    /// A control chart.
    Chart(ControlChart),
    /// A straight line through all readings, its slope tested once at that time.
    Trend,
}

/// Ways, with their names. The limits of the charts are the usual ones, about 500 readings between false
/// alarms (Lucas & Saccucci 1990; Lucas & Crosier 1982); a single reading at 2.5 deviations gives 80.
pub const WAYS: [(&str, Way); 4] = [
    ("single readings", Way::Chart(ControlChart::Single { limit: 2.5 })),
    ("moving average (EWMA)", Way::Chart(ControlChart::Ewma { weight: 0.2, limit: 2.962 })),
    ("cumulative sums (CUSUM)", Way::Chart(ControlChart::Cusum { slack: 0.5, limit: 5.0 })),
    ("trend line", Way::Trend),
];

/// Level of the test of a slope.
const LEVEL: f64 = 0.05;
/// Most readings that are followed.
const MOST_READINGS: usize = 520;

/// How long a way takes to see a drift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Detection {
    /// Days until it is seen with a chance of 50 and of 90 %; nothing where that takes more readings than are
    /// followed.
    pub half_d: Option<f64>,
    /// See above.
    pub nine_tenths_d: Option<f64>,
    /// Mean days between false alarms of a tank that does not drift; nothing for a test that is made once,
    /// whose chance of a false alarm is 5 %.
    pub false_alarm_d: Option<f64>,
}

/// How long a way takes to see a steady drift \[psu/d\] that begins at the first reading.
#[must_use]
pub fn detection(way: Way, habit: Habit, psu_per_d: f64) -> Detection {
    let step = psu_per_d.abs() * habit.every_d / habit.deviation_psu;
    let seen: Vec<f64> = match way {
        Way::Chart(chart) => chart.signalled(MOST_READINGS, |k| step * (k - 1) as f64),
        Way::Trend => (1..=MOST_READINGS).map(|n| trend_power(n, step)).collect(),
    };
    let reached = |chance: f64| seen.iter().position(|p| *p >= chance).map(|k| k as f64 * habit.every_d);
    Detection {
        half_d: reached(0.5),
        nine_tenths_d: reached(0.9),
        false_alarm_d: match way {
            Way::Chart(chart) => Some(chart.run_length(0.0) * habit.every_d),
            Way::Trend => None,
        },
    }
}

/// The chance that the slope of `n` readings with a deviation of 1, drifting by `step` from one to the next,
/// is told from zero, the deviation being known.
fn trend_power(n: usize, step: f64) -> f64 {
    let n = n as f64;
    // Σ (k − mean)² = n (n² − 1)/12
    let slope_error = (12.0 / (n * (n * n - 1.0))).sqrt();
    if !slope_error.is_finite() {
        return 0.0;
    }
    let bell = Normal::standard();
    let limit = bell.inverse_cdf(1.0 - 0.5 * LEVEL);
    let size = step / slope_error;
    bell.sf(limit - size) + bell.cdf(-limit - size)
}

/// Days until the book of top-off used shows that as much more or less comes in as the drift needs.
///
/// A drift of `psu_per_d` by unequal pumps or a leak is a flow of `V/S` litres for each psu a day, and the
/// float makes it good with that much less or more. The mean of `n` days of evaporation with a coefficient
/// of variation and a persistence is known to its deviation times `sqrt((1+φ)/(1−φ)/n)`.
#[must_use]
pub fn book_keeping_d(psu_per_d: f64, litres: f64, psu: f64, evaporation: f64, day_to_day: DayToDay) -> Option<f64> {
    let flow = psu_per_d.abs() * litres / psu;
    let deviation = evaporation * day_to_day.deviation_of_sum(1.0);
    let days = (SIGMAS * deviation / flow).powi(2).max(1.0);
    (days <= LONGEST_BOOK_D).then(|| days.ceil())
}

/// Longest book that is of use \[d\].
const LONGEST_BOOK_D: f64 = 730.0;
/// Standard deviations at which the book-keeping is believed.
const SIGMAS: f64 = 2.5;
