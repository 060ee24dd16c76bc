//! Days of a run as a reader knows them: dates where the scenario says when it starts, days from the start where it does not.

use jiff::Span;
use jiff::civil::Date;

use super::moment::{said, written};
use crate::scenario::Scenario;
use crate::units::trimmed;

/// How days are told.
#[derive(Clone, Copy, Debug)]
pub(super) struct Dated {
    start: Option<Date>,
    /// Whether a day and a month could be meant twice.
    long: bool,
    /// When the run ends \[d\]: a midnight that is still of the day before.
    end: f64,
}

impl Dated {
    /// As a scenario lets them be told.
    pub(super) fn of(scenario: &Scenario) -> Self {
        let known = scenario.defaults.iter().all(|default| default.key != "start");
        Self {
            start: known.then_some(scenario.start),
            long: scenario.plan.horizon.days() > 366.0,
            end: scenario.plan.horizon.days(),
        }
    }

    /// Days from the start, of a run that ends so.
    pub(super) const fn by_days(end: f64) -> Self {
        Self { start: None, long: false, end }
    }

    /// The date of day 0, where the scenario says it.
    pub(super) const fn start(self) -> Option<Date> {
        self.start
    }

    fn date(self, day: f64) -> Option<Date> {
        let day = if (day - self.end).abs() < 1e-6 { day - 1e-6 } else { day };
        #[expect(clippy::cast_possible_truncation, reason = "days of a run, bounded")]
        self.start?.checked_add(Span::new().days(day.floor() as i64)).ok()
    }

    /// A date: `15 May`, with the year where it could be taken for another; or `day 74`.
    pub(super) fn day(self, day: f64) -> String {
        let form = if day < 366.0 && !self.long { "%-d %b" } else { "%-d %b %Y" };
        self.date(day).map_or_else(|| format!("day {}", trimmed(day, 0)), |date| date.strftime(form).to_string())
    }

    /// `on 15 May`, `on day 74`; `at the start`.
    pub(super) fn on(self, day: f64) -> String {
        if day <= 0.0 { "at the start".into() } else { format!("on {}", self.day(day)) }
    }

    /// A moment with its hour: `on Fri 6 Mar 2026, 18:00`; where no date is known `on day 4.75`, or `at the start`.
    pub(super) fn at(self, day: f64) -> String {
        match self.start {
            Some(start) => format!("on {}", said(&written(start, day))),
            None if day == 0.0 => "at the start".into(),
            None => format!("on day {}", trimmed(day, 2)),
        }
    }

    /// A date with its year: `15 May 2026`; or `day 74`.
    pub(super) fn full(self, day: f64) -> String {
        self.date(day).map_or_else(|| format!("day {}", trimmed(day, 0)), |date| date.strftime("%-d %b %Y").to_string())
    }

    /// The days from one to another: `2 Mar 2026 to 1 Mar 2027`, or `365 days`.
    pub(super) fn span(self, from: f64, to: f64) -> String {
        match (self.date(from), self.date(to)) {
            // The last day is the one that ends at that midnight.
            (Some(_), Some(_)) => format!("{} to {}", self.full(from), self.full((to - 1e-6).max(from))),
            _ if from == 0.0 => format!("{} days", trimmed(to, 1)),
            _ => format!("day {} to day {}", trimmed(from, 1), trimmed(to, 1)),
        }
    }
}
