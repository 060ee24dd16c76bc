//! Seeing a drift of salinity in readings: how long it takes, and what a log says.

use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

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

/// One reading of a log.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReadingRow {
    /// Days from the first reading.
    pub time_d: f64,
    /// Salinity \[psu\].
    pub psu: f64,
}

/// What a log of readings says.
#[derive(Clone, Debug, PartialEq)]
pub struct LogVerdict {
    /// Deviation of a single reading about its neighbours \[psu\], from the differences of successive readings
    /// (von Neumann 1941: their mean square is twice the variance), or as it was given.
    pub deviation_psu: f64,
    /// Slope of a straight line \[psu/d\], its standard error, and the chance of one as large by chance.
    pub slope: (f64, f64, f64),
    /// EWMA after each reading \[psu\], and its limit on either side of the target.
    pub ewma: Vec<f64>,
    /// See above.
    pub ewma_limit_psu: f64,
    /// First time at which the EWMA leaves its limits, and at which the cumulative sums do.
    pub ewma_signal_d: Option<f64>,
    /// See above.
    pub cusum_signal_d: Option<f64>,
    /// Whether the cumulative sum that signals is the upper one.
    pub upwards: bool,
}

/// Looks at a log of at least five readings, not all at one time, in time order, for a drift away from `target`.
#[must_use]
pub fn look_at_log(rows: &[ReadingRow], target: f64, deviation: Option<f64>) -> Option<LogVerdict> {
    let times = rows.first().zip(rows.last());
    if rows.len() < 5 || times.is_none_or(|(a, b)| b.time_d <= a.time_d) {
        return None;
    }
    let squares: f64 = rows.windows(2).map(|w| (w[1].psu - w[0].psu).powi(2)).sum();
    let deviation = deviation.unwrap_or((squares / (2.0 * (rows.len() - 1) as f64)).sqrt()).max(1e-6);
    let n = rows.len() as f64;
    let mean_t = rows.iter().map(|r| r.time_d).sum::<f64>() / n;
    let mean_s = rows.iter().map(|r| r.psu).sum::<f64>() / n;
    let sum_tt: f64 = rows.iter().map(|r| (r.time_d - mean_t).powi(2)).sum();
    let slope = rows.iter().map(|r| (r.time_d - mean_t) * (r.psu - mean_s)).sum::<f64>() / sum_tt;
    let rest: f64 = rows.iter().map(|r| (r.psu - mean_s - slope * (r.time_d - mean_t)).powi(2)).sum();
    let error = (rest / (n - 2.0) / sum_tt).sqrt();
    // Readings that are all alike have no scatter to hold a slope against.
    let t = if slope == 0.0 { 0.0 } else { (slope / error.max(1e-300)).abs().min(1e6) };
    let chance = StudentsT::new(0.0, 1.0, n - 2.0).map_or(1.0, |law| 2.0 * law.sf(t));
    let (weight, limit) = (0.2, 2.962);
    let ewma_limit = limit * deviation * (weight / (2.0f64 - weight)).sqrt();
    let mut average = target;
    let ewma: Vec<f64> = rows
        .iter()
        .map(|r| {
            average += weight * (r.psu - average);
            average
        })
        .collect();
    let ewma_signal = ewma.iter().position(|e| (e - target).abs() > ewma_limit).map(|i| rows[i].time_d);
    let (slack, limit) = (0.5, 5.0);
    let (mut up, mut down) = (0.0f64, 0.0f64);
    let mut cusum = None;
    for row in rows {
        let z = (row.psu - target) / deviation;
        up = (up + z - slack).max(0.0);
        down = (down - z - slack).max(0.0);
        if cusum.is_none() && up.max(down) > limit {
            cusum = Some((row.time_d, up > down));
        }
    }
    Some(LogVerdict {
        deviation_psu: deviation,
        slope: (slope, error, chance),
        ewma,
        ewma_limit_psu: ewma_limit,
        ewma_signal_d: ewma_signal,
        cusum_signal_d: cusum.map(|c| c.0),
        upwards: cusum.is_some_and(|c| c.1),
    })
}
