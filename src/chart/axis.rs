//! An axis: its reach and its ticks, at round numbers or at dates of the calendar.

use crate::numerics::Elementary;
use jiff::civil::Date;
use jiff::{Span, ToSpan};

use super::style;
use crate::units::trimmed;

/// An axis with its ticks.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Axis {
    pub(super) low: f64,
    pub(super) high: f64,
    /// Places of the ticks, each with its name.
    pub(super) ticks: Vec<(f64, String)>,
    /// What runs along it, with its unit; may be empty.
    pub(super) name: String,
    /// Least width that its ticks take, in steps of the drawing.
    pub(super) least_room: i32,
}

impl Axis {
    const fn of(low: f64, high: f64, ticks: Vec<(f64, String)>) -> Self {
        Self { low, high, ticks, name: String::new(), least_room: 0 }
    }

    /// Covers `low..high` with steps of 1, 2 or 5 times a power of ten, about `about` of them, and
    /// starts and ends on a step.
    pub(super) fn covering(low: f64, high: f64, about: f64) -> Self {
        let (low, high) = spread(low, high);
        let step = round_step(low, high, about);
        let (low, high) = ((low / step).floor() * step, (high / step).ceil() * step);
        Self::of(low, high, rounds(low, high, step))
    }

    /// From `low` to `high`, with about `about` round numbers between.
    pub(super) fn within(low: f64, high: f64, about: f64) -> Self {
        let (low, high) = spread(low, high);
        Self::of(low, high, rounds(low, high, round_step(low, high, about)))
    }

    /// The same with whole numbers.
    pub(super) fn counting(low: f64, high: f64, about: f64) -> Self {
        let (low, high) = spread(low, high);
        Self::of(low, high, rounds(low, high, round_step(low, high, about).max(1.0)))
    }

    /// Days from `low` to `high` since a date, told as at most about `most` dates.
    pub(super) fn dates(low: f64, high: f64, since: Date, most: f64) -> Self {
        let high = high.max(low + 1e-6);
        let days = high - low;
        let steps: [(f64, Step); 12] = [
            (1.0, Step::Days(1)),
            (2.0, Step::Days(2)),
            (7.0, Step::Days(7)),
            (14.0, Step::Days(14)),
            (30.4, Step::Months(1)),
            (60.9, Step::Months(2)),
            (91.3, Step::Months(3)),
            (182.6, Step::Months(6)),
            (365.2, Step::Months(12)),
            (730.5, Step::Months(24)),
            (1826.2, Step::Months(60)),
            (3652.5, Step::Months(120)),
        ];
        let step = steps.iter().find(|(length, _)| days / length <= most).unwrap_or(&steps[11]).1;
        Self::of(low, high, step.ticks(low, high, since))
    }

    /// The same with a name.
    pub(super) fn named(self, name: &str) -> Self {
        Self { name: name.to_owned(), ..self }
    }

    /// Width that the ticks of an upright axis take, in steps of the drawing.
    pub(super) fn label_room(&self) -> i32 {
        let signs = self.ticks.iter().map(|(_, label)| label.chars().count()).max().unwrap_or(0);
        style::px(24 + 9 * i32::try_from(signs.max(3)).unwrap_or(3)).max(self.least_room)
    }
}

/// How dates are stepped through.
#[derive(Clone, Copy, Debug)]
enum Step {
    Days(i32),
    Months(i32),
}

impl Step {
    /// The dates of this step between two days since a date.
    fn ticks(self, low: f64, high: f64, since: Date) -> Vec<(f64, String)> {
        let Some(mut date) = self.first(low, since) else { return Vec::new() };
        let mut ticks = Vec::new();
        while let Ok(passed) = since.until(date) {
            let day = f64::from(passed.get_days());
            if day > high + 1e-9 {
                break;
            }
            if day >= low - 1e-9 {
                ticks.push((day, self.name(date, ticks.is_empty())));
            }
            let span: Span = match self {
                Self::Days(n) => n.days(),
                Self::Months(n) => n.months(),
            };
            let Ok(next) = date.checked_add(span) else { break };
            date = next;
        }
        ticks
    }

    /// A date of this step that is not after the first day shown.
    fn first(self, low: f64, since: Date) -> Option<Date> {
        #[expect(clippy::cast_possible_truncation, reason = "days of a run, bounded")]
        let begin = since.checked_add(Span::new().days(low.floor() as i64)).ok()?;
        match self {
            Self::Days(_) => Some(begin),
            Self::Months(n) if n >= 12 => {
                let years = i16::try_from(n / 12).ok()?;
                Date::new(begin.year() - begin.year().rem_euclid(years), 1, 1).ok()
            }
            Self::Months(_) => Date::new(begin.year(), 1, 1).ok(),
        }
    }

    fn name(self, date: Date, first: bool) -> String {
        let form = match self {
            Self::Days(_) => "%-d %b",
            Self::Months(n) if n >= 12 => "%Y",
            Self::Months(_) if date.month() == 1 => "%Y",
            Self::Months(_) if first => "%b %Y",
            Self::Months(_) => "%b",
        };
        date.strftime(form).to_string()
    }
}

/// Two ends that differ.
fn spread(low: f64, high: f64) -> (f64, f64) {
    if high - low > 1e-9 * high.abs().max(low.abs()).max(1e-12) {
        return (low, high);
    }
    let pad = if low == 0.0 { 1.0 } else { 0.02 * low.abs() };
    (low - pad, high + pad)
}

/// A step of 1, 2 or 5 times a power of ten that makes about so many of a reach.
fn round_step(low: f64, high: f64, about: f64) -> f64 {
    let raw = (high - low) / about;
    let power = 10f64.to_power(raw.to_log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * power).find(|s| *s >= raw).unwrap_or(raw)
}

/// Multiples of a step from `low` to `high`, each with as many decimals as the step needs.
fn rounds(low: f64, high: f64, step: f64) -> Vec<(f64, String)> {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "the decimals of a step are few")]
    let decimals = (-(step * (1.0 + 1e-9)).to_log10().floor()).clamp(0.0, 9.0) as usize;
    let name = |value: f64| {
        if trimmed(value, decimals) == "0" { "0".into() } else { format!("{value:.decimals$}") }
    };
    let first = (low / step - 1e-9).ceil();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a handful of ticks")]
    let count = ((high / step + 1e-9).floor() - first).clamp(0.0, 200.0) as usize;
    (0..=count).map(|i| (first + i as f64) * step).map(|value| (value, name(value))).collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::Axis;

    fn names(axis: &Axis) -> Vec<&str> {
        axis.ticks.iter().map(|(_, name)| &**name).collect()
    }

    #[test]
    fn ticks_are_round_and_cover() {
        let axis = Axis::covering(33.87, 36.2, 6.0);
        assert_eq!(names(&axis), ["33.5", "34.0", "34.5", "35.0", "35.5", "36.0", "36.5"]);
        let flat = Axis::covering(400.0, 400.0, 5.0);
        assert!(flat.low < 400.0 && flat.high > 400.0);
        assert_eq!(names(&Axis::within(0.3, 3.2, 3.0)), ["1", "2", "3"]);
        assert_eq!(names(&Axis::within(-0.1, 0.1, 2.0)), ["-0.1", "0", "0.1"]);
        assert_eq!(names(&Axis::counting(0.0, 3.0, 8.0)), ["0", "1", "2", "3"]);
    }

    #[test]
    fn dates_are_those_of_the_calendar() {
        // Days between dates, from a calendar: 2 March to 1 April 2026 are 30 days, to 1 January 2027 are 305.
        let year = Axis::dates(0.0, 365.0, date(2026, 3, 2), 13.0);
        assert_eq!(year.ticks[0], (30.0, "Apr 2026".to_owned()));
        assert!(year.ticks.contains(&(305.0, "2027".to_owned())));
        assert_eq!(names(&year).last(), Some(&"Mar"));
        let weeks = Axis::dates(0.0, 30.0, date(2026, 3, 2), 9.0);
        assert_eq!(names(&weeks), ["2 Mar", "9 Mar", "16 Mar", "23 Mar", "30 Mar"]);
        let years = Axis::dates(0.0, 3652.0, date(2026, 3, 2), 6.0);
        assert_eq!(names(&years), ["2028", "2030", "2032", "2034", "2036"]);
        let later = Axis::dates(100.0, 103.0, date(2026, 3, 2), 9.0);
        assert_eq!(names(&later), ["10 Jun", "11 Jun", "12 Jun", "13 Jun"]);
    }
}
