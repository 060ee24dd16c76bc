//! Fresh water lost to the air: constant, seasonal, or from a table of days.

use crate::numerics::Elementary;
use std::sync::Arc;

use crate::units::{VolumeRate, YEAR_D};

/// How fast water evaporates. Between two midnights the rate is constant: the day's mean.
#[derive(Clone, Debug, PartialEq)]
pub enum Evaporation {
    /// The same every day.
    Constant(VolumeRate),
    /// A yearly sine.
    Seasonal {
        /// Mean over the year.
        mean: VolumeRate,
        /// Share of the mean by which the peak exceeds it.
        swing: f64,
        /// Day of the run on which it peaks.
        peak_d: f64,
    },
    /// Straight lines between points (day of the run, L/d); level before the first and after the last.
    Table(Vec<(f64, f64)>),
    /// A value for each day of the run \[L/d\]; the last one stays.
    Daily(Arc<[f64]>),
}

/// How evaporation is shared between day and night: lamps and fans are on by day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ByDay {
    /// Share of a day's evaporation that goes by day.
    pub share: f64,
    /// When the day begins and ends, as shares of 24 h; where it ends before it begins it goes on past midnight.
    pub from: f64,
    /// See above.
    pub to: f64,
}

impl ByDay {
    /// The same seen from a time of the day, a share of 24 h.
    #[must_use]
    pub fn from_hour(self, hour: f64) -> Self {
        Self { from: (self.from - hour).rem_euclid(1.0), to: (self.to - hour).rem_euclid(1.0), ..self }
    }

    /// How much faster than in the mean of the day water evaporates at a time of the day, a share of 24 h.
    #[must_use]
    pub fn factor(self, time: f64) -> f64 {
        let length = (self.to - self.from).rem_euclid(1.0);
        let by_day = (time - self.from).rem_euclid(1.0) < length;
        if by_day { self.share / length } else { (1.0 - self.share) / (1.0 - length) }
    }
}

/// Day-to-day variation of evaporation: lognormal with mean 1 and persistence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayToDay {
    /// Coefficient of variation.
    pub cv: f64,
    /// Days over which a deviation falls to 1/e.
    pub persistence_d: f64,
}

impl DayToDay {
    /// What is taken where nothing is known: 25 % and 3 d (common practice, no source).
    pub const USUAL: Self = Self { cv: 0.25, persistence_d: 3.0 };

    /// Share of a deviation that is left a day later.
    #[must_use]
    pub fn kept(self) -> f64 {
        (-1.0 / self.persistence_d.max(1e-9)).to_exp()
    }

    /// Standard deviation of the sum of some days of a mean of 1: that of independent days, times
    /// `sqrt((1 + φ)/(1 − φ))` for the share `φ` that is kept.
    #[must_use]
    pub fn deviation_of_sum(self, days: f64) -> f64 {
        let keep = self.kept();
        self.cv * (days * (1.0 + keep) / (1.0 - keep)).sqrt()
    }

    /// Standard deviation of the sum of some days by itself: less than [`Self::deviation_of_sum`], which many sums in a row
    /// need, as what is left of the day before is shared with the sum before.
    #[must_use]
    pub fn deviation_of_days(self, days: f64) -> f64 {
        let keep = self.kept();
        let whole = days * (1.0 + keep) / (1.0 - keep);
        self.cv * (whole - 2.0 * keep * (1.0 - keep.to_power(days)) / (1.0 - keep).powi(2)).max(0.0).sqrt()
    }

    /// Mean and standard deviation of the logarithm of a day's factor.
    #[must_use]
    pub fn logarithm(self) -> (f64, f64) {
        let variance = self.cv.powi(2).to_ln_1p();
        (-0.5 * variance, variance.sqrt())
    }
}

impl Evaporation {
    /// Whether the rate changes from day to day.
    #[must_use]
    pub const fn varies(&self) -> bool {
        !matches!(self, Self::Constant(_))
    }

    /// Mean over a year \[L/d\], where it is the same every year: that of the first day of a table.
    #[must_use]
    pub fn mean(&self) -> f64 {
        match self {
            Self::Seasonal { mean, .. } => mean.litres_per_day(),
            other => other.on_day(0.0),
        }
    }

    /// The same course of the year with another mean; a constant where it goes by a table.
    #[must_use]
    pub fn with_mean(&self, rate: VolumeRate) -> Self {
        match self {
            Self::Seasonal { swing, peak_d, .. } => Self::Seasonal { mean: rate, swing: *swing, peak_d: *peak_d },
            _ => Self::Constant(rate),
        }
    }

    /// The same seen from a later day \[d\].
    #[must_use]
    pub fn from_day(&self, begin_d: f64) -> Self {
        match self {
            Self::Seasonal { mean, swing, peak_d } => {
                Self::Seasonal { mean: *mean, swing: *swing, peak_d: peak_d - begin_d }
            }
            other => other.clone(),
        }
    }

    /// Mean rate \[L/d\] of the day that starts `day` days after the start.
    #[must_use]
    pub fn on_day(&self, day: f64) -> f64 {
        match self {
            Self::Constant(rate) => rate.litres_per_day(),
            Self::Seasonal { mean, swing, peak_d } => {
                let turn = std::f64::consts::TAU / YEAR_D;
                // mean of cos over the day: the difference of the sines, divided by the angle
                let cosine = ((turn * (day + 1.0 - peak_d)).sine() - (turn * (day - peak_d)).sine()) / turn;
                mean.litres_per_day() * (1.0 + swing * cosine)
            }
            Self::Table(points) => {
                // The mean of straight lines over the day, broken at each point inside it.
                let mut cuts = vec![day];
                cuts.extend(points.iter().map(|p| p.0).filter(|t| *t > day && *t < day + 1.0));
                cuts.push(day + 1.0);
                cuts.windows(2).map(|c| (c[1] - c[0]) * interpolate(points, 0.5 * (c[0] + c[1]))).sum()
            }
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "days since the start are small and not negative"
            )]
            Self::Daily(days) => days.get((day.max(0.0)) as usize).or(days.last()).copied().unwrap_or(0.0),
        }
    }
}

fn interpolate(points: &[(f64, f64)], t: f64) -> f64 {
    let after = points.partition_point(|p| p.0 <= t);
    match (after.checked_sub(1).and_then(|i| points.get(i)), points.get(after)) {
        (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (t - a.0) / (b.0 - a.0),
        (Some(only), None) | (None, Some(only)) => only.1,
        (None, None) => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::Evaporation;
    use crate::units::VolumeRate;

    /// Against the variance summed term by term: `n + 2 Σ (n − k) φ^k`.
    #[test]
    fn the_deviation_of_a_week_is_that_of_its_days() {
        let weather = super::DayToDay { cv: 0.25, persistence_d: 3.0 };
        let keep = (-1.0f64 / 3.0).exp();
        let sum: f64 = (1..7).map(|k| (7.0 - f64::from(k)) * keep.powi(k)).sum();
        assert!((weather.deviation_of_days(7.0) - 0.25 * (7.0 + 2.0 * sum).sqrt()).abs() < 1e-12);
        assert!((weather.deviation_of_days(1.0) - 0.25).abs() < 1e-12);
    }

    #[test]
    fn a_year_of_the_sine_has_its_mean() {
        let sine = Evaporation::Seasonal { mean: VolumeRate::from_litres_per_day(6.0), swing: 0.3, peak_d: 20.0 };
        let total: f64 = (0..1461).map(|d| sine.on_day(f64::from(d))).sum();
        assert!((total / 1461.0 - 6.0).abs() < 1e-4, "{}", total / 1461.0);
        assert!(sine.on_day(19.5) > 7.79);
    }

    #[test]
    fn a_table_is_straight_between_its_points_and_level_outside() {
        let table = Evaporation::Table(vec![(0.0, 4.0), (10.0, 6.0)]);
        assert!((table.on_day(4.0) - 4.9).abs() < 1e-12);
        assert!((table.on_day(50.0) - 6.0).abs() < 1e-12);
        assert!((table.on_day(9.5) - (0.5 * 5.95 + 0.5 * 6.0)).abs() < 1e-12);
    }
}
