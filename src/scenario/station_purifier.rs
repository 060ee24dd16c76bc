//! `[station.purifier]`: what it makes through the year, its hours, failures and filters.

use crate::numerics::Elementary;
use jiff::civil::Date;

use super::reader::Section;
use super::sections::{Header, date};
use crate::sizing::{Purifier, flow_at_temperature};
use crate::units::{Duration, Fraction, Pressure, Temperature, Volume, VolumeRate, YEAR_D};

/// The purifier of a station.
pub(super) struct PurifierEntry {
    /// As it is rated.
    pub(super) rated: Purifier,
    /// What it makes while it runs, by day of the run \[L/d\].
    pub(super) made_l_per_d: Vec<f64>,
    /// Hours a day in which it may run.
    pub(super) hours_per_d: f64,
    /// A day's chance that it fails, and how long it then stands \[d\].
    pub(super) outage: (f64, f64),
    /// Litres through a set of prefilters.
    pub(super) prefilter_l: f64,
    /// Litres through a charge of resin.
    pub(super) resin_l: f64,
}

pub(super) fn purifier(section: &Section<'_>, header: &Header) -> Option<PurifierEntry> {
    let rated = section
        .quantity::<VolumeRate>("rated", "What it makes at 25 C and its rated pressure.")
        .like("300 L/d")
        .positive()
        .required();
    let feed = section
        .quantity::<Temperature>("feed", "Temperature of the feed water; with feed_coldest, its mean over the year.")
        .like("15 C")
        .check("4 to 35 C", |t| flow_at_temperature(*t).is_ok())
        .or("15 C");
    let coldest = coldest(section, feed, header.start);
    let pressure =
        section.quantity::<Pressure>("pressure", "Pressure at the tap.").like("60 psi").positive().or("60 psi");
    let rated_pressure = section
        .quantity::<Pressure>("rated_pressure", "Pressure for which it is rated.")
        .like("60 psi")
        .positive()
        .or("60 psi");
    let reject = section
        .value("reject", "Litres of reject for one of product.", "a number", "4", |t| {
            t.parse::<f64>()
                .ok()
                .filter(|r| (0.0..=20.0).contains(r))
                .ok_or_else(|| format!("`{t}` is no number from 0 to 20"))
        })
        .or("4");
    let hours = section
        .quantity::<Duration>("hours", "Hours a day in which it may run, from midnight.")
        .like("24 h")
        .check("more than 0 and at most 24 h", |h| h.days() > 0.0 && h.days() <= 1.0)
        .or("24 h");
    let chance = section
        .quantity::<Fraction>("outage_chance", "Chance a day that it fails.")
        .like("0.3 %")
        .between(0.0, 1.0)
        .or("0.3 %");
    let length =
        section.quantity::<Duration>("outage", "How long it then stands.").like("3 d").not_negative().or("3 d");
    let prefilter = section
        .quantity::<Volume>("prefilter_life", "Water, product and reject, that a set of prefilters serves.")
        .like("10000 L")
        .positive()
        .or("10000 L");
    let resin = section
        .quantity::<Volume>("resin_life", "Product that a charge of resin serves.")
        .like("1500 L")
        .positive()
        .or("1500 L");
    section.finish();
    let rated =
        Purifier { rated: rated?, rated_pressure: rated_pressure?, pressure: pressure?, feed: feed?, reject: reject? };
    let made =
        |feed: f64| Some(Purifier { feed: Temperature::from_celsius(feed), ..rated }.flow().ok()?.litres_per_day());
    let mean = rated.feed.celsius();
    let made_l_per_d = match coldest {
        None => vec![made(mean)?],
        Some((low, on)) => {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days of a run")]
            let days = header.run.days().ceil() as u32;
            let turn = std::f64::consts::TAU / YEAR_D;
            let feed = |day: u32| mean - (mean - low) * (turn * (f64::from(day) + 0.5 - on)).cosine();
            (0..=days).map(|day| made(feed(day))).collect::<Option<_>>()?
        }
    };
    Some(PurifierEntry {
        rated,
        made_l_per_d,
        hours_per_d: hours?.days() * 24.0,
        outage: (chance?.ratio(), length?.days()),
        prefilter_l: prefilter?.litres(),
        resin_l: resin?.litres(),
    })
}

/// The coldest of a yearly sine of the feed \[°C\], and the day of the run on which it comes.
fn coldest(section: &Section<'_>, feed: Option<Temperature>, start: Date) -> Option<(f64, f64)> {
    let mean = feed.map_or(15.0, Temperature::celsius);
    let low = section
        .quantity::<Temperature>(
            "feed_coldest",
            "Coldest feed of the year, where it has a season; a sine about `feed`.",
        )
        .like("6 C")
        .check("4 C or more, at most `feed`, and no more below it than leaves the warmest within 35 C", move |t| {
            t.celsius() <= mean
                && flow_at_temperature(*t).is_ok()
                && flow_at_temperature(Temperature::from_celsius(2.0 * mean - t.celsius())).is_ok()
        })
        .optional();
    let on =
        section.value("feed_coldest_on", "Day on which the feed is coldest.", "a date", "2027-02-10", date).optional();
    match (low, on) {
        (Some(low), Some(on)) => Some((low.celsius(), f64::from(start.until(on).map_or(0, |span| span.get_days())))),
        (None, None) => None,
        (low, _) => {
            let (has, lacks) =
                if low.is_some() { ("feed_coldest", "feed_coldest_on") } else { ("feed_coldest_on", "feed_coldest") };
            if section.has(has) && !section.has(lacks) {
                section.complain(
                    has,
                    format!("`{has}` without `{lacks}` tells of no season"),
                    Some("example: feed_coldest = \"6 C\" and feed_coldest_on = \"2027-02-10\"".into()),
                );
            }
            None
        }
    }
}
