//! Moments as people say them: `12 d`, `Fri 18:00`, `2026-03-14 18:00`.

use jiff::SignedDuration;
use jiff::civil::{Date, DateTime, Time};

use super::AppError;
use crate::scenario::{time_of_day, weekday};
use crate::units::{Duration, Gallon, parse, significant};

/// Reads a moment as days from the start; a day of the week is the first one after `from`.
pub(super) fn moment(text: &str, start: Date, from: f64) -> Result<f64, String> {
    let wrong = || format!("`{text}` is no moment: write 12 d, Fri 18:00 or 2026-03-14 18:00");
    if let Some(at) = text.contains('-').then(|| instant(text)).flatten() {
        return Ok(days_between(start.to_datetime(Time::midnight()), at));
    }
    let (day, time) = text.trim().split_once(' ').unwrap_or((text.trim(), "00:00"));
    if let Some(weekday) = weekday(day).filter(|_| day.chars().all(char::is_alphabetic)) {
        let mut at = f64::from(start.weekday().until(weekday)) + time_of_day(time)?;
        while at <= from {
            at += 7.0;
        }
        return Ok(at);
    }
    let after: Duration = parse(text, Gallon::Unstated).map_err(|_| wrong())?;
    Ok(after.days())
}

/// Reads a date, or a date and a time: `2026-03-14`, `2026-03-14 18:00`, `2026-03-14T18:00`.
#[must_use]
pub fn instant(text: &str) -> Option<DateTime> {
    text.trim().replacen(' ', "T", 1).parse().ok()
}

/// Days from one instant to another.
pub(super) fn days_between(from: DateTime, to: DateTime) -> f64 {
    to.duration_since(from).as_secs_f64() / 86_400.0
}

/// The minute some days after an instant.
pub fn days_after(at: DateTime, days: f64) -> Result<DateTime, AppError> {
    #[expect(clippy::cast_possible_truncation, reason = "the largest number of minutes is past the calendar's end too")]
    let minutes = (days * 1440.0).round() as i64;
    SignedDuration::try_from_mins(minutes).and_then(|span| at.checked_add(span).ok()).ok_or_else(|| {
        AppError::Usage(format!(
            "{} days from {at} lie outside the calendar, which ends with the year 9999\n  = help: choose another start, or a shorter time",
            significant(days, 4)
        ))
    })
}

/// The moment for tables and files: `2026-03-06 18:00`.
#[must_use]
pub(super) fn written(start: Date, days: f64) -> String {
    days_after(start.to_datetime(Time::midnight()), days).map_or(String::new(), to_the_minute)
}

/// The same of an instant.
#[must_use]
pub(super) fn to_the_minute(at: DateTime) -> String {
    at.strftime("%Y-%m-%d %H:%M").to_string()
}

/// A moment of a table as a sentence says it: `Fri 6 Mar 2026, 18:00`, without the hour at midnight. What is no date, as
/// `day 12`, stays as it is.
#[must_use]
pub(super) fn said(written: &str) -> String {
    let Some(at) = instant(written) else { return written.to_owned() };
    let form = if at.time() == Time::midnight() { "%a %-d %b %Y" } else { "%a %-d %b %Y, %H:%M" };
    at.strftime(form).to_string()
}

/// The date alone, `2026-03-14`.
#[must_use]
pub(super) fn written_date(start: Date, days: f64) -> String {
    days_after(start.to_datetime(Time::midnight()), days).map_or(String::new(), |at| at.date().to_string())
}

#[cfg(test)]
mod tests {
    use super::{days_after, moment, said, written};
    use jiff::civil::date;

    #[test]
    fn moments_are_read_and_written() {
        let start = date(2026, 3, 2); // a Monday
        assert_eq!(moment("Fri 18:00", start, 0.0), Ok(4.75));
        assert!((moment("Sun 20:00", start, 7.0).unwrap() - 13.0 - 20.0 / 24.0).abs() < 1e-12);
        assert_eq!(moment("12 d", start, 0.0), Ok(12.0));
        assert_eq!(moment("2026-03-14 06:00", start, 0.0), Ok(12.25));
        assert_eq!(moment("2026-03-14T06:00", start, 0.0), Ok(12.25));
        assert_eq!(moment("2026-03-14 18", start, 0.0), Ok(12.75));
        assert!(moment("Fri18:00", start, 0.0).is_err() && moment("2026-02-30", start, 0.0).is_err());
        assert!(moment("Fri 25:00", start, 0.0).is_err() && moment("soon", start, 0.0).is_err());
        assert_eq!(written(start, 4.75), "2026-03-06 18:00");
        assert_eq!(said(&written(start, 4.75)), "Fri 6 Mar 2026, 18:00");
        assert_eq!(said("2026-03-02"), "Mon 2 Mar 2026");
        assert_eq!(said("day 12"), "day 12");
    }

    #[test]
    fn days_past_the_calendar_are_refused() {
        let start = date(2026, 3, 2).at(0, 0, 0, 0);
        for days in [1e7, 1e300, -1e300, f64::INFINITY] {
            let error = days_after(start, days).unwrap_err().to_string();
            assert!(error.starts_with("error: ") && error.contains("outside the calendar"), "{error}");
        }
    }
}
