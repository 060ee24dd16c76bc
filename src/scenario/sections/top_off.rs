//! `[top_off]`: how evaporation is made up.

use super::Context;
use super::schedule::{MOST_TIMES, SHORTEST_D, schedule};
use super::waters::water_named;
use crate::model::{FloatState, Method, Reservoir, Schedule, TopOff, Water};
use crate::scenario::reader::Section;
use crate::units::{Duration, Volume, VolumeRate};

pub(super) fn top_off(section: &Section<'_>, context: &Context<'_>, waters: &[Water]) -> Option<TopOff> {
    let by = section
        .choice(
            "by",
            "float: a float and a pump hold the level; hand: up to the mark by hand; none.",
            &["float", "hand", "none"],
        )
        .or("float");
    let water = water_named(section, waters, "purified");
    let hand = by == Some("hand");
    let run = context.header.run;
    let times = schedule(section, context, hand.then_some("1 d"));
    let pump = section.quantity::<VolumeRate>("pump", "Flow of the float's pump or valve.").like("20 L/h").positive();
    let pump = if by == Some("float") { pump.or("20 L/h") } else { pump.optional() }.unwrap_or_default();
    let capacity = section
        .quantity::<Volume>("reservoir", "What the top-off reservoir holds; where it is absent it never runs dry.")
        .like("20 L")
        .positive()
        .optional();
    let refill = section
        .quantity::<Duration>("refill", "Interval at which the reservoir is filled.")
        .check(format!("10 min or more, and at most {MOST_TIMES} times in the run"), move |d| {
            d.days() >= SHORTEST_D && run / *d <= MOST_TIMES
        })
        .optional();
    let offset = section
        .quantity::<Volume>(
            "level_offset",
            "How far above the operating level the float holds, in litres of the system.",
        )
        .like("0 L")
        .or("0 L");
    let method = match by? {
        "hand" => Method::Hand(times.unwrap_or(Schedule::every(1.0, 1.0))),
        "none" => Method::None,
        _ => Method::Float(pump),
    };
    section.finish();
    if capacity.is_none() && refill.is_some() {
        section.complain(
            "refill",
            "`top_off.refill` without a reservoir".into(),
            Some("example: reservoir = \"20 L\"".into()),
        );
    }
    let reservoir = capacity.map(|capacity| Reservoir {
        capacity,
        refill: refill.map_or(Schedule::Never, |r| Schedule::every(r.days(), r.days())),
    });
    Some(TopOff { method, water, reservoir, float: FloatState::Works, level_offset: offset.unwrap_or_default() })
}
