//! When something is done: `every`, `on` days of the week, or `dates`.

use jiff::civil::{Date, Weekday};

use super::header::{Header, date};
use crate::model::Schedule;
use crate::model::limits::{MOST_TIMES, SHORTEST_D};
use crate::scenario::document::Value;
use crate::scenario::reader::Section;
use crate::units::Duration;

/// Reads the schedule keys of a section; `default` is the interval where none is given.
pub(in crate::scenario) fn schedule(section: &Section<'_>, header: &Header, default: Option<&str>) -> Option<Schedule> {
    // Known here even where another key makes them idle.
    let _ = (section.entry("every"), section.entry("first"));
    let every_field = section
        .quantity::<Duration>("every", "Interval between two times.")
        .check("10 min or more, or leave it out for never", |d| d.days() >= SHORTEST_D);
    let hour = section.value("at", "Time of day, hours and minutes.", "a time of day", "18:00", time_of_day).optional();
    let on = section.list("on", "Days of the week.", "a list of days of the week", "[\"Wed\", \"Sat\"]");
    let dates = section.list(
        "dates",
        "Days of the calendar, ascending.",
        "a list of dates",
        "[\"2026-03-14\", \"2026-04-11\"]",
    );
    let first_field = section
        .quantity::<Duration>("first", "When it is first done, from the start; the interval where it is absent.")
        .not_negative();
    let ways = usize::from(section.has("every")) + usize::from(on.is_some()) + usize::from(dates.is_some());
    if ways > 1 {
        section.complain(
            if section.has("every") { "every" } else { "on" },
            format!("`{}` has more than one of every, on and dates", section.path),
            Some("keep one of them; example: every = \"7 d\"".into()),
        );
    }
    if let Some(days) = on {
        let offsets = weekdays(section, &days, header.start, hour.unwrap_or(DEFAULT_HOUR));
        if hour.is_none() {
            section.assume("at", "10:00");
        }
        return Some(Schedule::Periodic { offsets, period: 7.0 });
    }
    if let Some(days) = dates {
        if hour.is_none() {
            section.assume("at", "10:00");
        }
        return Some(Schedule::Listed(listed(section, &days, header.start, hour.unwrap_or(DEFAULT_HOUR))));
    }
    let every = match default {
        Some(default) => every_field.or(default),
        None => every_field.optional(),
    }?;
    if header.run / every > MOST_TIMES {
        section.complain(
            "every",
            format!("`{}` comes more than {MOST_TIMES} times in the run", section.path),
            Some("make the interval longer, or the run shorter".into()),
        );
    }
    let first = first_field.absent("after the first interval");
    if hour.is_none() {
        section.tell("at", "none: at the hour of the start");
    }
    let first = match (first, hour) {
        (Some(first), None) => first.days(),
        (Some(first), Some(hour)) => first.days().floor() + hour,
        (None, None) => every.days(),
        (None, Some(hour)) => every.days().floor() + hour,
    };
    Some(Schedule::every(every.days(), first))
}

/// Ten in the morning, where days are named but no hour.
const DEFAULT_HOUR: f64 = 10.0 / 24.0;

/// The day of the week that a word begins with, in English.
#[must_use]
pub fn weekday(text: &str) -> Option<Weekday> {
    const NAMES: [(&str, Weekday); 7] = [
        ("Mon", Weekday::Monday),
        ("Tue", Weekday::Tuesday),
        ("Wed", Weekday::Wednesday),
        ("Thu", Weekday::Thursday),
        ("Fri", Weekday::Friday),
        ("Sat", Weekday::Saturday),
        ("Sun", Weekday::Sunday),
    ];
    let start = text.get(..3)?;
    NAMES.iter().find(|(name, _)| start.eq_ignore_ascii_case(name)).map(|(_, day)| *day)
}

/// Reads `18:00` as a share of the day.
pub fn time_of_day(text: &str) -> Result<f64, String> {
    let wrong = || format!("`{text}` is no time of day: write hours and minutes, as in 18:00");
    let (hours, minutes) = text.split_once(':').ok_or_else(wrong)?;
    let hours: u32 = hours.parse().map_err(|_| wrong())?;
    let minutes: u32 = minutes.parse().map_err(|_| wrong())?;
    if hours > 23 || minutes > 59 {
        return Err(wrong());
    }
    Ok(f64::from(hours * 60 + minutes) / 1440.0)
}

fn weekdays(section: &Section<'_>, days: &[&crate::scenario::document::Node], start: Date, hour: f64) -> Vec<f64> {
    let mut offsets = Vec::new();
    for node in days {
        let found = match &node.value {
            Value::Text(text) => weekday(text),
            _ => None,
        };
        match found {
            Some(day) => offsets.push(f64::from(start.weekday().until(day)) + hour),
            None => section.reader.complain(
                &node.place,
                format!("`{}.on` has a day that is not known", section.path),
                Some("allowed: Mon, Tue, Wed, Thu, Fri, Sat, Sun; example: on = [\"Sat\"]".into()),
            ),
        }
    }
    offsets.sort_by(f64::total_cmp);
    offsets.dedup();
    offsets
}

fn listed(section: &Section<'_>, days: &[&crate::scenario::document::Node], start: Date, hour: f64) -> Vec<f64> {
    let mut times: Vec<f64> = Vec::new();
    for node in days {
        let (Value::Text(text) | Value::Bare(text)) = &node.value else {
            let help = Some("example: dates = [\"2026-03-14\"]".into());
            section.reader.complain(
                &node.place,
                format!("`{}.dates` has {}, not a date", section.path, node.value.kind()),
                help,
            );
            continue;
        };
        match date(text) {
            Err(message) => {
                section.reader.complain(&node.place, message, Some("example: dates = [\"2026-03-14\"]".into()));
            }
            Ok(day) => {
                let offset = f64::from(start.until(day).map_or(0, |span| span.get_days())) + hour;
                let wrong = if offset < 0.0 {
                    Some(format!("{day} lies before the start of the run, {start}"))
                } else if times.last().is_some_and(|last| *last >= offset) {
                    Some(format!("{day} does not come after the date before it"))
                } else {
                    None
                };
                match wrong {
                    Some(message) => {
                        section.reader.complain(
                            &node.place,
                            message,
                            Some("allowed: dates from the start on, ascending".into()),
                        );
                    }
                    None => times.push(offset),
                }
            }
        }
    }
    times
}
