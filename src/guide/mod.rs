//! The guide: a chapter a task, for readers of the crate's documentation and of `brinecast guide`.
//!
//! Every command in it is run by a test as it stands.

/// Name, title and text of each chapter, in reading order.
pub const CHAPTERS: [(&str, &str, &str); 13] = [
    ("first-tank", "Your first tank, in litres or in gallons", include_str!("first-tank.md")),
    ("batches", "Mixing salt water: amounts, doses, vessel, timetable", include_str!("batches.md")),
    ("plans", "Choosing how much to change, and how often", include_str!("plans.md")),
    ("chemistry", "Alkalinity, calcium, doses and what they do to salinity", include_str!("chemistry.md")),
    ("seasons", "Seasons, periods, series of values", include_str!("seasons.md")),
    ("stations", "Stores, mixing stations, service rounds, absences", include_str!("stations.md")),
    ("faults", "What goes wrong, and how a drift is noticed", include_str!("faults.md")),
    ("logs", "Learning from your own log: fit, now, recipe", include_str!("logs.md")),
    ("uncertainty", "Chances: ensembles, sensitivity, choice by chance", include_str!("uncertainty.md")),
    ("programs", "For programs: JSON, CSV, schemas, other tools", include_str!("programs.md")),
    ("computes", "How it computes, and where it ends", include_str!("computes.md")),
    ("checked", "How it is checked from outside", include_str!("checked.md")),
    ("safety", "Safety of the work", include_str!("safety.md")),
];

/// The text of a chapter.
///
/// ```
/// assert!(brinecast::guide::chapter("safety").is_some_and(|text| text.contains("heaters")));
/// ```
#[must_use]
pub fn chapter(name: &str) -> Option<&'static str> {
    CHAPTERS.iter().find(|(n, ..)| *n == name).map(|(.., text)| *text)
}

macro_rules! chapters {
    ($($module:ident $file:literal,)*) => {
        $(
            #[doc = include_str!($file)]
            pub mod $module {}
        )*
    };
}

chapters! {
    first_tank "first-tank.md",
    batches "batches.md",
    plans "plans.md",
    chemistry "chemistry.md",
    seasons "seasons.md",
    stations "stations.md",
    faults "faults.md",
    logs "logs.md",
    uncertainty "uncertainty.md",
    programs "programs.md",
    computes "computes.md",
    checked "checked.md",
    safety "safety.md",
}
