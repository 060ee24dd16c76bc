//! `[evaporation]`: fresh water lost to the air.

use super::Context;
use super::header::date;
use super::schedule::time_of_day;
use crate::model::limits::{MOST_VOLUMES_PER_DAY, can_flow};
use crate::model::{ByDay, Evaporation};
use crate::scenario::document::Value;
use crate::scenario::reader::Section;
use crate::seawater::{Room, fresh_water_density, surface_evaporation};
use crate::units::{
    Area, Duration, Fraction, Gallon, Rate, Speed, Temperature, Volume, VolumeRate, factor_of, number_with_unit, parse,
    parse_base, significant,
};

/// Reads a flow, or a share of `operating` per time.
pub(super) fn flow_or_share(text: &str, operating: Volume, gallon: Gallon) -> Result<VolumeRate, String> {
    let (_, unit) = number_with_unit(text).map_err(|e| e.to_string())?;
    let flow = if unit.starts_with('%') {
        factor_of::<Rate>(unit, gallon).map_err(|e| e.to_string())?;
        let share: Rate = parse(text, gallon).map_err(|e| e.to_string())?;
        VolumeRate::from_litres_per_day(share.per_day() * operating.litres())
    } else {
        parse(text, gallon).map_err(|e| e.to_string())?
    };
    can_flow(flow, operating).then_some(flow).ok_or_else(|| {
        format!(
            "`{text}` is more than {MOST_VOLUMES_PER_DAY} times the {} L of the system a day",
            significant(operating.litres(), 4)
        )
    })
}

/// Evaporation, and how it is shared between day and night.
pub(super) fn evaporation(section: &Section<'_>, context: &Context<'_>) -> (Evaporation, Option<ByDay>) {
    let by_day = by_day(section);
    (over_the_year(section, context), by_day)
}

/// `by_day` and `day`: how a day's evaporation is shared between day and night.
fn by_day(section: &Section<'_>) -> Option<ByDay> {
    let share = section
        .quantity::<Fraction>(
            "by_day",
            "Share of a day's evaporation that falls into the daytime, when lamps and fans are on.",
        )
        .like("65 %")
        .between(0.0, 1.0)
        .optional();
    let day = section.value("day", "When the day begins and ends.", "two times of day", "8:00 to 20:00", |t| {
        let (from, to) = t.split_once(" to ").ok_or_else(|| format!("`{t}` is no two times: write 8:00 to 20:00"))?;
        let (from, to) = (time_of_day(from.trim())?, time_of_day(to.trim())?);
        if from == to { Err("a day that ends when it begins has no length".to_owned()) } else { Ok((from, to)) }
    });
    if let Some(share) = share {
        return day.or("8:00 to 20:00").map(|(from, to)| ByDay { share: share.ratio(), from, to });
    }
    if day.optional().is_some() {
        section.complain(
            "day",
            "`evaporation.day` says when the day is, but not how much goes by day".into(),
            Some("give both; example: by_day = \"65 %\"".into()),
        );
    }
    None
}

fn over_the_year(section: &Section<'_>, context: &Context<'_>) -> Evaporation {
    let operating = context.operating();
    let gallon = section.reader.gallon.get();
    let by_room = room(section, context);
    let rate = section
        .value(
            "rate",
            "Fresh water lost, or its share of the system volume; the mean where there is a season.",
            "a flow or a share of the volume per day",
            "6 L/d",
            move |t| flow_or_share(t, operating, gallon),
        )
        .check("zero or more", |r| r.litres_per_day() >= 0.0);
    let rate = match by_room {
        Some(rate) => {
            if section.has("rate") {
                section.complain(
                    "rate",
                    "`evaporation` has both a rate and a room".into(),
                    Some("keep the rate if you have measured it: it is better than any formula".into()),
                );
            }
            rate
        }
        None => rate.or("1 %/d").unwrap_or_default(),
    };
    let swing = section
        .quantity::<Fraction>("swing", "Share by which the yearly peak exceeds the mean.")
        .like("30 %")
        .between(0.0, 1.0)
        .optional();
    let peak = section.value("peak", "Day of the yearly peak.", "a date", "2027-01-20", date).optional();
    let table = section.list(
        "table",
        "Evaporation by day of the run: pairs of time and flow, straight lines between them.",
        "a list of pairs",
        "[[\"0 d\", \"4 L/d\"], [\"90 d\", \"6 L/d\"]]",
    );
    section.finish();
    if let Some(points) = table {
        return Evaporation::Table(points_of(section, &points, operating, gallon));
    }
    match swing.filter(|s| s.ratio() != 0.0) {
        None => Evaporation::Constant(rate),
        Some(swing) => {
            let start = context.header.start;
            let peak_d = if let Some(day) = peak {
                f64::from(start.until(day).map_or(0, |span| span.get_days()))
            } else {
                section.assume("peak", &start.to_string());
                0.0
            };
            Evaporation::Seasonal { mean: rate, swing: swing.ratio(), peak_d }
        }
    }
}

/// `[evaporation.room]`: the rate from the climate of the room, by two published forms.
fn room(section: &Section<'_>, context: &Context<'_>) -> Option<VolumeRate> {
    let section = section.section("room");
    if !section.is_given() && !section.reader.describing {
        return None;
    }
    let area = section.quantity::<Area>("area", "Area of the water's surface, sump included.").positive().required();
    let air = section.quantity::<Temperature>("air", "Temperature of the air.").like("22 C").or("22 C");
    let humidity =
        section.quantity::<Fraction>("humidity", "Relative humidity.").like("45 %").between(0.0, 1.0).or("45 %");
    let air_speed = section.quantity::<Speed>("air_speed", "Air speed over the water.").or("0.1 m/s");
    let activity = section
        .quantity::<Fraction>(
            "activity",
            "Evaporation against that of a surface at rest: 150 to 230 % overflowing, 10 to 50 % covered.",
        )
        .like("100 %")
        .between(0.0, 5.0)
        .or("100 %");
    section.finish();
    let tank = context.tank?;
    let room = Room { air: air?, humidity: humidity?, air_speed: air_speed?, area: area?, activity: activity?.ratio() };
    match surface_evaporation(tank.temperature, tank.salinity, &room) {
        Ok(evaporation) => {
            let kg_per_litre = fresh_water_density(tank.temperature).map_or(1.0, |d| d.kg_per_m3() * 1e-3);
            let litres = |kg: f64| crate::units::significant(kg / kg_per_litre, 3);
            let (low, high) = evaporation.span();
            let likely = evaporation.likely();
            section.assume(
                "rate",
                &format!(
                    "{} L/d by free convection, with {} to {} L/d by two published forms; your own top-off log is better",
                    litres(likely),
                    litres(low),
                    litres(high)
                ),
            );
            let rate = VolumeRate::from_litres_per_day(likely / kg_per_litre);
            if !can_flow(rate, tank.operating) {
                section.complain(
                    "area",
                    format!("so large a surface loses {} L/d, more than the system can", litres(likely)),
                    Some("give the surface of this tank and its sump; example: area = \"0.6 m2\"".into()),
                );
            }
            Some(rate)
        }
        Err(error) => {
            let key = if error.range.of.starts_with("air speed") { "air_speed" } else { "air" };
            section.complain(key, error.to_string(), Some("or measure it, and give evaporation.rate".into()));
            None
        }
    }
}

fn points_of(
    section: &Section<'_>,
    nodes: &[&crate::scenario::document::Node],
    operating: Volume,
    gallon: Gallon,
) -> Vec<(f64, f64)> {
    let mut points: Vec<(f64, f64)> = Vec::new();
    for node in nodes {
        let pair = match &node.value {
            Value::List(pair) => match pair.as_slice() {
                [a, b] => match (&a.value, &b.value) {
                    (Value::Text(time), Value::Text(flow)) => parse_base::<Duration>(time, gallon)
                        .map_err(|e| e.to_string())
                        .and_then(|t| Ok((t, flow_or_share(flow, operating, gallon)?.litres_per_day()))),
                    _ => Err("a point is two texts".into()),
                },
                _ => Err("a point is a pair".into()),
            },
            _ => Err("a point is a pair".into()),
        };
        let pair = pair.and_then(|(t, flow)| match points.last() {
            _ if flow < 0.0 => Err("evaporation cannot be negative".into()),
            Some((last, _)) if *last >= t => Err("the times must ascend".to_owned()),
            _ => Ok((t, flow)),
        });
        match pair {
            Ok(point) => points.push(point),
            Err(message) => section.reader.complain(
                &node.place,
                format!("`evaporation.table`: {message}"),
                Some("example: table = [[\"0 d\", \"4 L/d\"], [\"90 d\", \"6 L/d\"]]".into()),
            ),
        }
    }
    points
}
