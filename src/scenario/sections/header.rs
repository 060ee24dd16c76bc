//! The head of the file: format, title, units, basis, dates.

use jiff::civil::Date;

use crate::model::Basis;
use crate::model::limits::{LONGEST_RUN_D, MOST_ROWS};
use crate::scenario::check_words;
use crate::scenario::format::FORMAT;
use crate::scenario::reader::Section;
use crate::units::{Duration, Gallon, UnitSystem, parse};

/// The keys above the first table.
pub(in crate::scenario) struct Header {
    pub(in crate::scenario) title: String,
    pub(in crate::scenario) question: String,
    pub(in crate::scenario) units: UnitSystem,
    pub(in crate::scenario) basis: Basis,
    pub(in crate::scenario) start: Date,
    pub(in crate::scenario) run: Duration,
    pub(in crate::scenario) output: Option<Duration>,
}

pub(in crate::scenario) fn header(root: &Section<'_>) -> Header {
    let words = |text: &str| check_words(text).map(|()| text.to_owned());
    root.value("format", "Version of the file format.", "the number 1", "1", |t| match t.parse::<i64>() {
        Ok(FORMAT) => Ok(FORMAT),
        _ => Err(format!("this version reads format {FORMAT}, the file says {t}")),
    })
    .required();
    let title = root.value("title", "One line on what this is.", "a text", "Reef with a sump", words).or("untitled");
    let question =
        root.value("question", "The question that the scenario answers.", "a text", "Does it hold 35?", words).or("");
    let units = root
        .choice("units", "Units shown on screens, and what a bare gal means.", &UnitSystem::NAMES)
        .or(UnitSystem::NAMES[0])
        .map_or(UnitSystem::Metric, UnitSystem::named);
    root.reader.gallon.set(units.gallon());
    let basis = match root
        .choice(
            "basis",
            "mass: water and salt are weighed; ideal: volumes add, as in hand calculation.",
            &["mass", "ideal"],
        )
        .or("mass")
    {
        Some("ideal") => Basis::Ideal,
        _ => Basis::Mass,
    };
    let start = root
        .value("start", "First day; time 0 is its midnight.", "a date", "2026-03-02", date)
        .or("2026-01-05")
        .unwrap_or(Date::constant(2026, 1, 5));
    let run = root
        .quantity::<Duration>("run", "Length of the run.")
        .like("365 d")
        .check(format!("more than 0 and at most {LONGEST_RUN_D} d"), |d| d.days() > 0.0 && d.days() <= LONGEST_RUN_D)
        .or("365 d")
        .unwrap_or(Duration::from_days(1.0));
    let output = root
        .value(
            "output",
            "Spacing of the rows in time, or `events` for none between events.",
            "a length of time or `events`",
            "1 d",
            |t| {
                if t == "events" {
                    return Ok(None);
                }
                let every: Duration = parse(t, Gallon::Unstated).map_err(|e| e.to_string())?;
                Ok(Some(every))
            },
        )
        .check(format!("at least 1 s, and at most {MOST_ROWS} rows in the run"), move |every: &Option<Duration>| {
            every.is_none_or(|e| e.days() >= 1.0 / 86400.0 && run / e <= MOST_ROWS)
        })
        .or("1 d")
        .flatten();
    Header {
        title: title.unwrap_or_default(),
        question: question.unwrap_or_default(),
        units,
        basis,
        start,
        run,
        output,
    }
}

/// Reads an ISO 8601 date.
pub(in crate::scenario) fn date(text: &str) -> Result<Date, String> {
    text.parse().map_err(|_| format!("`{text}` is no date: write year-month-day, as in 2026-03-02"))
}
