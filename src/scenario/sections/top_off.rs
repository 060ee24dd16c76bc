//! `[top_off]`: how evaporation is made up.

use super::Context;
use super::schedule::schedule;
use super::waters::water_named;
use crate::model::limits::{MOST_TIMES, SHORTEST_D};
use crate::model::{Listed, Reservoir, Schedule, TopOff, Water, WaterId};
use crate::scenario::reader::Section;
use crate::units::{Duration, Volume, VolumeRate};

pub(super) fn top_off(section: &Section<'_>, context: &Context<'_>, waters: &Listed<WaterId, Water>) -> Option<TopOff> {
    let by = section.choice("by", TopOff::DOC, &TopOff::KEYS).or(TopOff::KINDS[0].key);
    let kind = by.and_then(|by| TopOff::KINDS.into_iter().find(|kind| kind.key == by));
    let water = water_named(section, waters, "purified");
    let hand = kind.is_some_and(|kind| kind.by_hand);
    let run = context.header.run;
    let times = schedule(section, context.header, hand.then_some("1 d"));
    let pump = section.quantity::<VolumeRate>("pump", "Flow of the float's pump or valve.").like("20 L/h").positive();
    let pump =
        if kind.is_some_and(|kind| kind.pumped) { pump.or("20 L/h") } else { pump.optional() }.unwrap_or_default();
    let capacity = section
        .quantity::<Volume>("reservoir", "What the top-off reservoir holds; where it is absent it never runs dry.")
        .like("20 L")
        .positive();
    let made_up = kind.is_some_and(|kind| kind.pumped || kind.by_hand);
    let capacity = if made_up { capacity.absent("none: it never runs dry") } else { capacity.optional() };
    let refill = section
        .quantity::<Duration>("refill", "Interval at which the reservoir is filled.")
        .check(format!("10 min or more, and at most {MOST_TIMES} times in the run"), move |d| {
            d.days() >= SHORTEST_D && run / *d <= MOST_TIMES
        });
    let refill = if capacity.is_some() {
        refill.absent("never: the reservoir is filled once, for the start")
    } else {
        refill.optional()
    };
    let offset = section
        .quantity::<Volume>(
            "level_offset",
            "How far above the operating level the float holds, in litres of the system.",
        )
        .like("0 L")
        .or("0 L");
    let operating = context.operating();
    let gap = section
        .quantity::<Volume>(
            "gap",
            "How much water may be missing before the float starts the pump; 0 L holds the level steady.",
        )
        .like("2 L")
        .check("0 to 10 % of the system volume", move |gap| gap.litres() >= 0.0 && *gap / operating <= 0.1)
        .or("0 L");
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
    let times = times.unwrap_or(Schedule::every(1.0, 1.0));
    let mut top_off = TopOff::of(kind?, pump, times, water);
    (top_off.reservoir, top_off.level_offset) = (reservoir, offset.unwrap_or_default());
    if top_off.holds_level() {
        top_off.gap = gap.unwrap_or_default();
    }
    Some(top_off)
}
