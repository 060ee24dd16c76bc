//! `[van]`, and when it calls at a tank.

use super::reader::Section;
use super::sections::{Header, schedule, time_of_day};
use crate::model::Schedule;
use crate::sizing::{Van, Visit};
use crate::units::{Duration, Mass, Volume};

/// Reads the van, where there is one.
pub(super) fn van(section: &Section<'_>, header: &Header) -> Option<Van> {
    if !section.is_given() && !section.reader.describing {
        return None;
    }
    let volume = |key, doc| section.quantity::<Volume>(key, doc).like("200 L").positive().required();
    let salt = volume("salt_water", "Salt water that its tank holds.");
    let fresh = volume("fresh_water", "Fresh water that it takes along.");
    let most = section
        .quantity::<Mass>("most", "How much water it may carry: the payload on its papers, less people and tools.")
        .like("400 kg")
        .positive()
        .required();
    let leaves =
        section.value("leaves", "When it leaves in the morning.", "a time of day", "8:00", time_of_day).or("8:00");
    let hours = section
        .quantity::<Duration>("hours", "Length of its day.")
        .like("8 h")
        .check("more than 0 and at most 16 h", |h| h.days() > 0.0 && h.days() <= 16.0 / 24.0)
        .or("8 h");
    let reload = section
        .quantity::<Duration>("reload", "Time to load it again between two trips.")
        .like("30 min")
        .not_negative()
        .or("30 min");
    let working = section.section("days");
    let days = schedule(&working, header, Some("1 d"));
    working.finish();
    section.finish();
    let leaves = leaves?;
    Some(Van {
        salt_l: salt?.litres(),
        fresh_l: fresh?.litres(),
        most_kg: most?.kg(),
        leaves,
        hours_d: hours?.days(),
        reload_d: reload?.days(),
        working: in_the_morning(section, "days", &days?, leaves, working.has("first")),
    })
}

/// The same days, at the hour when the van leaves.
fn in_the_morning(section: &Section<'_>, key: &str, days: &Schedule, leaves: f64, begun: bool) -> Schedule {
    let morning = |t: &f64| t.floor() + leaves;
    match days {
        Schedule::Never => Schedule::Never,
        Schedule::Listed(times) => Schedule::Listed(times.iter().map(morning).collect()),
        Schedule::Periodic { offsets, period } => {
            if period.fract() != 0.0 {
                section.complain(
                    key,
                    "the van goes out on whole days".into(),
                    Some("example: every = \"7 d\", or on = [\"Mon\", \"Thu\"]".into()),
                );
            }
            // Every day: from the first one on, unless that is said.
            let first = if *period == 1.0 && !begun { vec![leaves] } else { offsets.iter().map(morning).collect() };
            Schedule::Periodic { offsets: first, period: period.max(1.0).round() }
        }
    }
}

/// Reads when the van calls at a tank.
pub(super) fn visit(tank: &Section<'_>, header: &Header, van: Option<&Van>) -> Option<Visit> {
    let minutes = |key, doc, usual| tank.quantity::<Duration>(key, doc).like("15 min").not_negative().or(usual);
    let describing = tank.reader.describing;
    if van.is_none() && !describing {
        for key in ["visits", "drive", "work", "tops_off"] {
            if tank.has(key) {
                tank.complain(
                    key,
                    format!("`{key}` is for a round, but there is no van"),
                    Some("write a table [van] with salt_water, fresh_water and most, or leave the key out".into()),
                );
                tank.section("visits").leaves(|_, _, _| {});
                let _ = tank.entry(key);
            }
        }
        return None;
    }
    let visits = tank.section("visits");
    if !visits.is_given() && !describing {
        tank.complain_here(
            "the van never calls at this tank".into(),
            Some("write visits = { on = [\"Tue\"] }, or visits = { every = \"14 d\" }".into()),
        );
    }
    let days = schedule(&visits, header, None);
    visits.finish();
    let drive = minutes("drive", "Drive from the stop before, and home from here.", "15 min");
    let work = minutes("work", "Work at the stop besides the change: tests, glass, pump.", "15 min");
    let keeper = tank
        .choice("tops_off", "Who tops off: the keeper, or the round at its visits.", &["round", "keeper"])
        .or("round");
    let leaves = van.map_or(0.0, |v| v.leaves);
    Some(Visit {
        schedule: in_the_morning(tank, "visits", &days?, leaves, visits.has("first")),
        drive_d: drive?.days(),
        work_d: work?.days(),
        keeper_tops_off: keeper? == "keeper",
    })
}
