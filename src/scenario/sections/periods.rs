//! `[periods.NAME]` and `[faults.NAME]`: when something else is done, and when something goes wrong.

use std::sync::Arc;

use jiff::civil::{Date, DateTime, Time};

use crate::faults::{Fault, all};
use crate::scenario::document::{Node, Place};
use crate::scenario::reader::{Section, nearest};
use crate::units::{Duration, Gallon, YEAR_D, parse};

/// A period as it stands in the file.
pub(in crate::scenario) struct DeclaredPeriod {
    pub(in crate::scenario) name: String,
    pub(in crate::scenario) begin: f64,
    pub(in crate::scenario) end: f64,
    pub(in crate::scenario) yearly: bool,
    /// Keys of the scenario with the values that they have meanwhile.
    pub(in crate::scenario) sets: Vec<(Vec<String>, Place, Node)>,
    pub(in crate::scenario) place: Place,
}

/// A fault as it stands in the file.
pub(in crate::scenario) struct DeclaredFault {
    pub(in crate::scenario) fault: Arc<dyn Fault>,
    pub(in crate::scenario) begin: f64,
    pub(in crate::scenario) end: f64,
    pub(in crate::scenario) place: Place,
}

/// Tables of which a period may set keys.
pub(in crate::scenario) const OF_A_PERIOD: [&str; 11] = [
    "evaporation",
    "top_off",
    "losses",
    "exchange",
    "change",
    "changes",
    "doses",
    "feed",
    "reading",
    "meter",
    "solutes",
];

/// A moment of the calendar: so many days from the start, or a day of every year.
#[derive(Clone, Copy)]
pub(super) struct Moment {
    pub(super) days: f64,
    pub(super) yearly: bool,
}

/// Reads `30 d`, `2026-07-01`, or `07-01` for every year.
pub(super) fn moment(text: &str, start: Date) -> Result<Moment, String> {
    let from_start = |day: Date| f64::from(start.until(day).map_or(0, |span| span.get_days()));
    if let Some(day) = text.parse::<Date>().ok().filter(|_| !text.contains(':')) {
        return Ok(Moment { days: from_start(day), yearly: false });
    }
    if let Ok(at) = text.replacen(' ', "T", 1).parse::<DateTime>() {
        let hours = at.time().duration_since(Time::midnight()).as_secs_f64() / 86_400.0;
        return Ok(Moment { days: from_start(at.date()) + hours, yearly: false });
    }
    if let Ok(day) = format!("{}-{text}", start.year()).parse::<Date>() {
        return Ok(Moment { days: from_start(day), yearly: true });
    }
    let after: Duration = parse(text, Gallon::Unstated)
        .map_err(|_| format!("`{text}` is no moment: write 30 d, a date as in 2026-07-01, or 07-01 for every year"))?;
    Ok(Moment { days: after.days(), yearly: false })
}

/// Reads `from` and `to`, which must follow one another; `to` may be left out where `open`.
pub(in crate::scenario) fn span(section: &Section<'_>, start: Date, open: bool) -> Option<(f64, f64, bool)> {
    let read = move |t: &str| moment(t, start);
    let from = section.value(
        "from",
        "When it begins: a day, a date, or month and day for every year.",
        "a moment",
        "2026-07-01",
        read,
    );
    let to = section.value("to", "When it ends, the same way.", "a moment", "2026-07-15", read);
    let (from, to) = (from.required(), if open { to.optional() } else { to.required() });
    let from = from?;
    let Some(to) = to else {
        return (open && !section.has("to")).then_some((from.days, f64::INFINITY, false));
    };
    if from.yearly != to.yearly {
        section.complain(
            "to",
            "one of `from` and `to` is of every year, the other is not".into(),
            Some("example: from = \"11-15\" and to = \"03-01\", or both with their year".into()),
        );
        return None;
    }
    let end = if from.yearly && to.days <= from.days { to.days + YEAR_D } else { to.days };
    if end <= from.days {
        section.complain(
            "to",
            "it ends before it begins".into(),
            Some("example: from = \"30 d\" and to = \"44 d\"".into()),
        );
        return None;
    }
    Some((from.days, end, from.yearly))
}

/// Reads the periods.
pub(in crate::scenario) fn periods(root: &Section<'_>, start: Date) -> Vec<DeclaredPeriod> {
    let mut list = Vec::new();
    for (name, section) in root.named("periods") {
        let span = span(&section, start, false);
        let mut sets = Vec::new();
        section.leaves(|path, place, node| {
            if !matches!(path, [key] if key == "from" || key == "to") {
                sets.push((path.to_vec(), place.clone(), node.clone()));
            }
        });
        if section.reader.describing {
            continue;
        }
        if sets.is_empty() {
            section.complain_here(
                format!("the period `{name}` changes nothing"),
                Some("write keys of the scenario below it; example: evaporation.rate = \"9 L/d\"".into()),
            );
        }
        if let Some((begin, end, yearly)) = span {
            list.push(DeclaredPeriod { name, begin, end, yearly, sets, place: section.here() });
        }
    }
    list
}

/// Reads the faults.
pub(in crate::scenario) fn faults(root: &Section<'_>, start: Date) -> Vec<DeclaredFault> {
    let mut list = Vec::new();
    for (_, section) in root.named("faults") {
        let known = all(1.0);
        let key = section
            .value("fault", "What goes wrong, by its key.", "a fault", "top-off-stuck-shut", |t| {
                let keys = known.iter().map(|f| f.key());
                if known.iter().any(|f| f.key() == t) {
                    Ok(t.to_owned())
                } else {
                    Err(format!("there is no fault `{t}`; {}", nearest(t, keys)))
                }
            })
            .required();
        let times = section
            .value("times", "How many times its usual size.", "a number", "2", |t| {
                t.parse::<f64>().map_err(|_| format!("`{t}` is no number"))
            })
            .check("more than 0 and at most 100", |times| *times > 0.0 && *times <= 100.0)
            .or("1");
        let span = span(&section, start, true);
        section.finish();
        let (Some(key), Some(times), Some((begin, end, yearly))) = (key, times, span) else { continue };
        if yearly {
            section.complain(
                "from",
                "a fault does not come every year".into(),
                Some("give the date with its year".into()),
            );
            continue;
        }
        if let Some(fault) = all(times).into_iter().find(|f| f.key() == key) {
            list.push(DeclaredFault { fault, begin, end, place: section.here() });
        }
    }
    list
}
