//! When something is done: at an interval, on days of the week, or on listed days.

/// Times \[d from the start\] of a recurring act.
#[derive(Clone, Debug, PartialEq)]
pub enum Schedule {
    /// Never.
    Never,
    /// At `offsets` (ascending, within one period of each other), again every `period` days.
    Periodic {
        /// First times.
        offsets: Vec<f64>,
        /// Length of the period.
        period: f64,
    },
    /// At these times only (ascending).
    Listed(Vec<f64>),
}

impl Schedule {
    /// The same seen from a later day \[d\]; what was due before that day is over.
    #[must_use]
    pub fn from_day(&self, begin_d: f64) -> Self {
        match self {
            Self::Never => Self::Never,
            Self::Listed(times) => Self::Listed(times.iter().map(|t| t - begin_d).filter(|t| *t >= 0.0).collect()),
            Self::Periodic { offsets, period } => {
                // Of each, the first time that is not over.
                let next = |t: f64| if t < 0.0 { t + (-t / period).ceil() * period } else { t };
                let mut offsets: Vec<f64> = offsets.iter().map(|t| next(t - begin_d)).collect();
                offsets.sort_by(f64::total_cmp);
                Self::Periodic { offsets, period: *period }
            }
        }
    }

    /// Every `every` days, first at `first`.
    #[must_use]
    pub fn every(every: f64, first: f64) -> Self {
        Self::Periodic { offsets: vec![first], period: every }
    }

    /// The `k`th time.
    #[must_use]
    pub fn time(&self, k: usize) -> Option<f64> {
        match self {
            Self::Never => None,
            Self::Periodic { offsets, period } => {
                offsets.get(k % offsets.len().max(1)).map(|o| o + period * (k / offsets.len()) as f64)
            }
            Self::Listed(times) => times.get(k).copied(),
        }
    }

    /// The period, where there is one; `Never` repeats with any.
    #[must_use]
    pub const fn period(&self) -> Option<f64> {
        match self {
            Self::Periodic { period, .. } => Some(*period),
            _ => None,
        }
    }

    /// The longest time from one time to the next \[d\], where it goes on for ever.
    #[must_use]
    pub fn longest_gap(&self) -> Option<f64> {
        let Self::Periodic { offsets, period } = self else { return None };
        let first = offsets.first()? + period;
        let next = offsets.iter().skip(1).copied().chain([first]);
        Some(offsets.iter().zip(next).map(|(a, b)| b - a).fold(0.0, f64::max))
    }

    /// Whether nothing is ever done.
    #[must_use]
    pub fn is_never(&self) -> bool {
        self.time(0).is_none()
    }

    /// The times after `from` up to and including `until`.
    #[must_use]
    pub fn between(&self, from: f64, until: f64) -> Vec<f64> {
        let mut cursor = Cursor::after(self, from);
        let mut times = Vec::new();
        while let Some(t) = cursor.next(self).filter(|t| *t <= until) {
            times.push(t);
            cursor.advance();
        }
        times
    }
}

/// Where one stands in a schedule.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Cursor(usize);

/// Times this close \[d\] are the same instant (0.1 ms); sums of days round far below it.
const SAME_INSTANT_D: f64 = 1e-9;

impl Cursor {
    /// The first time that lies after `t`.
    #[must_use]
    pub fn after(schedule: &Schedule, t: f64) -> Self {
        let mut k = match schedule {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a count of periods, not negative"
            )]
            Schedule::Periodic { offsets, period } => {
                ((t - offsets.first().unwrap_or(&0.0)) / period - 1.0).max(0.0) as usize * offsets.len()
            }
            _ => 0,
        };
        while schedule.time(k).is_some_and(|next| next <= t + SAME_INSTANT_D) {
            k += 1;
        }
        Self(k)
    }

    /// The next time.
    #[must_use]
    pub fn next(self, schedule: &Schedule) -> Option<f64> {
        schedule.time(self.0)
    }

    /// Moves past the next time.
    pub fn advance(&mut self) {
        self.0 += 1;
    }

    /// How many times lie behind.
    #[must_use]
    pub const fn count(self) -> usize {
        self.0
    }
}

#[cfg(test)]
mod tests {
    use super::{Cursor, Schedule};

    #[test]
    fn a_week_with_two_days_goes_on() {
        let week = Schedule::Periodic { offsets: vec![2.75, 5.75], period: 7.0 };
        assert_eq!(week.between(0.0, 13.0), [2.75, 5.75, 9.75, 12.75]);
        assert_eq!(Cursor::after(&week, 9.75).next(&week), Some(12.75));
    }

    #[test]
    fn seen_from_a_later_day_the_same_times_come() {
        let week = Schedule::Periodic { offsets: vec![2.75, 5.75], period: 7.0 };
        let late = Schedule::every(7.0, 30.0);
        for (schedule, begin) in [(&week, 0.0), (&week, 4.0), (&week, 6.0), (&week, 100.5), (&late, 3.0), (&late, 33.0)]
        {
            let later = schedule.from_day(begin).between(-1e-9, 40.0);
            let same: Vec<f64> = schedule.between(begin - 1e-9, begin + 40.0).iter().map(|t| t - begin).collect();
            assert_eq!(later.len(), same.len(), "{schedule:?} from {begin}: {later:?}, {same:?}");
            assert!(later.iter().zip(&same).all(|(a, b)| (a - b).abs() < 1e-9), "{later:?}, {same:?}");
        }
    }
}
