//! What a log of readings says of the salinity: whether it is off its target, and whether it drifts or has jumped, each by
//! itself, for readings that hang together too.
//!
//! # Equation
//! The variance of a mean of `n` readings is `s² F/n`, with `F = 1 + 2 c φ/(1 − φ)` for readings whose correlation falls as
//! `c φ^k` (a first-order autoregression where `c` is 1; less where each reading has an error of its own). A slope's error
//! grows by `√F`. A jump is the largest partial sum of deviations from the mean, `max |Σ (x − x̄)|/(s √(F n))`, which
//! without one is that of a Brownian bridge: `P(> u) = 2 Σ (−1)^(k−1) exp(−2 k² u²)`.
//!
//! # Source
//! Bartlett 1946, J. R. Stat. Soc. Suppl. 8:27-41 (variance of a mean); Kendall 1954, Biometrika 41:403-404 (bias of a serial
//! correlation); Ploberger & Krämer 1992, Econometrica 60:271-285 (partial sums of residuals); Kolmogorov 1933.

use crate::numerics::Elementary;
use statrs::distribution::{ContinuousCDF, StudentsT};

/// One reading of a log.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReadingRow {
    /// Days from the first reading.
    pub time_d: f64,
    /// Salinity \[psu\].
    pub psu: f64,
}

/// A number with its standard error, and the chance of one as large by chance alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tested {
    /// The number.
    pub value: f64,
    /// Its standard error.
    pub error: f64,
    /// See above, from 0 to 1.
    pub by_chance: f64,
}

/// What a log of readings says.
#[derive(Clone, Debug, PartialEq)]
pub struct LogVerdict {
    /// The readings that were looked at: means of equal parts of the log, where it has very many.
    pub rows: Vec<ReadingRow>,
    /// Deviation of a reading about their course \[psu\].
    pub deviation_psu: f64,
    /// Correlation of a reading with the next.
    pub correlation: f64,
    /// By how much their mean varies more than that of readings that do not hang together: `F`.
    pub inflation: f64,
    /// The mean less the target \[psu\].
    pub offset: Tested,
    /// Slope of a straight line \[psu/d\].
    pub slope: Tested,
    /// The largest jump: what comes after less what comes before \[psu\].
    pub jump: Tested,
    /// When that is \[d\].
    pub jump_d: f64,
    /// Moving average (EWMA, weight 0.2) about the mean \[psu\].
    pub average: Vec<f64>,
    /// Its limits on either side of the mean \[psu\].
    pub limit_psu: f64,
}

/// Chance of a false alarm of each of the two tests of a course that stays: together 5 %.
const EACH: f64 = 0.025;
/// Chance of calling a mean off its target that is on it.
const OFFSET: f64 = 0.05;
/// Readings that are looked at, at most.
const MOST: usize = 1000;
/// Weight and limit of the moving average (Lucas & Saccucci 1990, Technometrics 32:1-12).
const EWMA: (f64, f64) = (0.2, 2.962);
/// The scatter of a log is not taken to be less than this share of the meter's own.
const LEAST_SCATTER: f64 = 0.3;

impl LogVerdict {
    /// Whether the salinity drifts, or has jumped: 5 % false alarms.
    #[must_use]
    pub fn moves(&self) -> bool {
        self.slope.by_chance.min(self.jump.by_chance) < EACH
    }

    /// Whether it moves upwards.
    #[must_use]
    pub fn upwards(&self) -> bool {
        let by = if self.slope.by_chance <= self.jump.by_chance { self.slope.value } else { self.jump.value };
        by > 0.0
    }

    /// Whether the mean is off its target: 5 % false alarms.
    #[must_use]
    pub fn is_off(&self) -> bool {
        self.offset.by_chance < OFFSET
    }
}

/// Looks at a log of at least five readings, not all at one time, in time order. `meter_psu` is the deviation of a single
/// reading by the meter.
#[must_use]
pub fn look_at_log(rows: &[ReadingRow], target: f64, meter_psu: f64) -> Option<LogVerdict> {
    let ends = rows.first().zip(rows.last());
    if rows.len() < 5 || ends.is_none_or(|(a, b)| b.time_d <= a.time_d) {
        return None;
    }
    let rows: Vec<ReadingRow> = rows.chunks(rows.len().div_ceil(MOST)).map(mean_of).collect();
    let n = rows.len() as f64;
    let (mean_t, mean) = (sum(&rows, |r| r.time_d) / n, sum(&rows, |r| r.psu) / n);
    let sum_tt = sum(&rows, |r| (r.time_d - mean_t).powi(2));
    let slope = sum(&rows, |r| (r.time_d - mean_t) * (r.psu - mean)) / sum_tt;
    let line: Vec<f64> = rows.iter().map(|r| r.psu - mean - slope * (r.time_d - mean_t)).collect();
    let (largest, k) = partial_sums(&rows, mean);
    // What comes before the jump, and after it.
    let of = |part: &[ReadingRow]| part.iter().map(|r| r.psu).sum::<f64>() / part.len().max(1) as f64;
    let (before, after) = (of(&rows[..k]), of(&rows[k..]));
    let step: Vec<f64> = rows.iter().enumerate().map(|(i, r)| r.psu - if i < k { before } else { after }).collect();
    let squares = |rest: &[f64]| rest.iter().map(|r| r * r).sum::<f64>();
    // The scatter is that about whichever course the log follows better.
    let rest = if squares(&line) <= squares(&step) { &line } else { &step };
    let least = (LEAST_SCATTER * meter_psu).max(1e-9);
    let deviation = (squares(rest) / (n - 2.0)).sqrt().max(least);
    let (correlation, inflation) = hanging(rest, deviation);
    let alike = (n / inflation).max(3.0);
    let student = |t: f64, degrees: f64| {
        StudentsT::new(0.0, 1.0, degrees.max(1.0)).map_or(1.0, |law| 2.0 * law.sf(t.abs().min(1e6)))
    };
    let tested = |value: f64, error: f64, degrees: f64| {
        let by_chance = if value == 0.0 { 1.0 } else { student(value / error, degrees) };
        Tested { value, error, by_chance }
    };
    // A line through readings that hang together takes more of their scatter away than two.
    let lost = ((n - 2.0) / (n - 2.0 * inflation).max(n / 3.0)).max(1.0);
    let scale = deviation * (lost * inflation).sqrt();
    let side = |count: f64| inflation / count.max(1.0);
    let jump_error = deviation * (side(k as f64) + side(n - k as f64)).sqrt();
    let by_chance = kolmogorov(largest / (scale * n.sqrt()));
    let (weight, limit) = EWMA;
    // Of readings with a correlation of r the average varies more (Schmid 1997, Stat. Pap. 38:253-270).
    let keeps = correlation.clamp(0.0, 0.98) * (1.0 - weight);
    let limit_psu = limit * deviation * (weight / (2.0 - weight) * (1.0 + keeps) / (1.0 - keeps)).sqrt();
    let mut average = mean;
    let averages = rows.iter().map(|r| {
        average += weight * (r.psu - average);
        average
    });
    Some(LogVerdict {
        deviation_psu: deviation,
        correlation,
        inflation,
        offset: tested(mean - target, scale / n.sqrt(), alike - 1.0),
        slope: tested(slope, scale / sum_tt.sqrt(), alike - 2.0),
        jump: Tested { value: after - before, error: jump_error, by_chance },
        jump_d: rows[k.min(rows.len() - 1)].time_d,
        average: averages.collect(),
        limit_psu,
        rows,
    })
}

fn sum(rows: &[ReadingRow], of: impl Fn(&ReadingRow) -> f64) -> f64 {
    rows.iter().map(of).sum()
}

fn mean_of(part: &[ReadingRow]) -> ReadingRow {
    let n = part.len().max(1) as f64;
    ReadingRow { time_d: sum(part, |r| r.time_d) / n, psu: sum(part, |r| r.psu) / n }
}

/// The largest partial sum of deviations from a mean, and how many readings lie before it.
fn partial_sums(rows: &[ReadingRow], mean: f64) -> (f64, usize) {
    let mut total = 0.0;
    let sums = rows.iter().enumerate().map(|(i, r)| {
        total += r.psu - mean;
        (f64::abs(total), i + 1)
    });
    let inner = rows.len() - 1;
    sums.take(inner).fold((0.0, 1), |most, sum| if sum.0 > most.0 { sum } else { most })
}

/// The correlation of neighbours, and by how much the variance of a mean is larger for it.
fn hanging(rest: &[f64], deviation: f64) -> (f64, f64) {
    let n = rest.len() as f64;
    let square = (deviation * deviation * (n - 2.0)).max(1e-300);
    let lag = |k: usize| rest.iter().zip(&rest[k..]).map(|(a, b)| a * b).sum::<f64>() / square;
    // A line takes some of it away: E(r) is about r - (2 + 4 r)/n.
    let whole = |r: f64| ((r * n + 2.0) / (n - 4.0).max(1.0)).clamp(0.0, MOST_CORRELATION);
    let (one, two) = (whole(lag(1)), whole(lag(2)));
    let by_itself = 1.0 + 2.0 * one / (1.0 - one);
    // Where each reading has an error of its own the correlation falls more slowly than its first step tells.
    let sure = one > 3.0 / n.sqrt();
    let slow = if sure { (two / one).clamp(one, MOST_CORRELATION) } else { one };
    let with_error = 1.0 + 2.0 * one / (1.0 - slow);
    (one, by_itself.max(with_error))
}

/// Largest correlation that is believed.
const MOST_CORRELATION: f64 = 0.97;

/// The chance that a Brownian bridge goes beyond a level.
fn kolmogorov(level: f64) -> f64 {
    if level < 0.3 {
        return 1.0;
    }
    let terms = (1..=20).map(|k| {
        let k = f64::from(k);
        (if k % 2.0 == 1.0 { 2.0 } else { -2.0 }) * (-2.0 * k * k * level * level).to_exp()
    });
    terms.sum::<f64>().clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::kolmogorov;

    /// Critical values of Kolmogorov's distribution: 1.2238 at 10 %, 1.3581 at 5 %, 1.6276 at 1 % (Smirnov 1948, Ann. Math.
    /// Stat. 19:279-281; from memory).
    #[test]
    fn a_bridge_has_its_published_levels() {
        for (level, chance) in [(1.2238, 0.10), (1.3581, 0.05), (1.6276, 0.01)] {
            assert!((kolmogorov(level) - chance).abs() < 1e-4, "{level}: {}", kolmogorov(level));
        }
    }
}
