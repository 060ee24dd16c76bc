//! `[change]`, `[changes.NAME]` and `[exchange]`: new water for old.

use super::Context;
use super::evaporation::flow_or_share;
use super::schedule::schedule;
use super::waters::water_named;
use crate::model::limits::LARGEST_SHARE;
use crate::model::{
    Amount, Change, Exchange, Fill, Id, Listed, Side, SoluteId, Timing, Trigger, Variable, Water, WaterId,
};
use crate::scenario::reader::{Section, nearest};
use crate::solutes::parse_concentration;
use crate::units::{Duration, Fraction, Gallon, PracticalSalinity, Volume, number_with_unit, parse, parse_base};

pub(super) fn changes(root: &Section<'_>, context: &Context<'_>, waters: &Listed<WaterId, Water>) -> Vec<Change> {
    let mut changes = Vec::new();
    let one = root.section("change");
    if one.is_given() || root.reader.describing {
        changes.extend(change(&one, context, waters));
    }
    for (_, section) in root.named("changes") {
        changes.extend(change(&section, context, waters));
    }
    changes
}

fn change(section: &Section<'_>, context: &Context<'_>, waters: &Listed<WaterId, Water>) -> Option<Change> {
    let operating = context.operating();
    let gallon = section.reader.gallon.get();
    let amount = section
        .value(
            "amount",
            "How much is taken out: a share of the operating volume, or a volume.",
            "a share or a volume",
            "10 %",
            move |t| {
                let (_, unit) = number_with_unit(t).map_err(|e| e.to_string())?;
                if unit == "%" || unit.is_empty() {
                    let share: Fraction = parse(t, gallon).map_err(|e| e.to_string())?;
                    return Ok(Amount::Share(share.ratio()));
                }
                parse::<Volume>(t, gallon).map(Amount::Volume).map_err(|e| e.to_string())
            },
        )
        .check(format!("more than 0 and at most {:.0} % of the operating volume; for no changes leave the table out (--set change=none)", LARGEST_SHARE * 100.0), move |a| {
            let share = a.of(operating) / operating;
            share > 0.0 && share <= LARGEST_SHARE
        })
        .or(if section.has("down_to") { "50 %" } else { "10 %" });
    let solutes: Vec<(String, crate::solutes::Solute)> =
        context.species.iter().map(|s| (s.solute.key.to_string(), s.solute.clone())).collect();
    let trigger = section
        .value(
            "when",
            "A level at a reading that calls for the change.",
            "a quantity past a level",
            "nitrate above 30 mg/L",
            move |t| trigger(t, &solutes),
        )
        .optional();
    let down_to = sized(section, context, trigger);
    let times = schedule(section, context.header, if trigger.is_some() { None } else { Some("7 d") });
    let fill = section
        .choice("fill", "measured: as much as was taken out; mark: up to the operating level.", &["measured", "mark"])
        .or("measured");
    let top_off = section
        .choice("top_off", "Whether a float top-off is off or on while the level is down.", &["off", "on"])
        .or("off");
    let level_down = section
        .quantity::<Duration>("level_down", "How long the level stays down.")
        .like("30 min")
        .not_negative()
        .or("30 min");
    let water = water_named(section, waters, "salt_water");
    section.finish();
    let timing = match trigger {
        Some(trigger) => Timing::Triggered(trigger),
        None => Timing::Scheduled(times?),
    };
    Some(Change {
        timing,
        amount: amount?,
        down_to,
        water,
        fill: if fill == Some("mark") { Fill::ToMark } else { Fill::Measured },
        top_off_on: top_off == Some("on"),
        level_down: level_down?,
        skipped: false,
        batch_offset_psu: 0.0,
        batch_errors_psu: [].into(),
    })
}

/// The concentration that a change is sized to, of the solute that calls for it; refuses a time beside a reading.
fn sized(section: &Section<'_>, context: &Context<'_>, trigger: Option<Trigger>) -> Option<f64> {
    for key in ["every", "on", "dates"] {
        if trigger.is_some() && section.has(key) {
            section.complain(
                key,
                format!("a change that waits for a reading has no `{key}`: it is done when a reading calls for it"),
                Some("two changes can be said, as [changes.usual] with `every` and [changes.high] with `when`".into()),
            );
        }
    }
    let text = section
        .value(
            "down_to",
            "With `when`: the change is made as large as it must be to bring the solute down to this, by the reading. No more than `amount`, or 50 % without one.",
            "a concentration",
            "10 mg/L",
            |t| Ok(t.to_owned()),
        )
        .optional()?;
    let solute = match trigger {
        Some(Trigger { of: Variable::Solute(i), side: Side::Above, .. }) => context.species.get(i.place()),
        _ => None,
    };
    let Some(solute) = solute.map(|s| &s.solute) else {
        section.complain(
            "down_to",
            "only a change that waits for a solute above a level can be sized by its reading".into(),
            Some("example: when = \"nitrate above 15 mg/L\" and down_to = \"10 mg/L\"".into()),
        );
        return None;
    };
    parse_concentration(solute, &text)
        .map_err(|e| section.complain("down_to", e.to_string(), Some("example: down_to = \"10 mg/L\"".into())))
        .ok()
}

/// Reads `nitrate above 30 mg/L` or `salinity below 34 psu`.
fn trigger(text: &str, solutes: &[(String, crate::solutes::Solute)]) -> Result<Trigger, String> {
    let wrong = || format!("`{text}` is no level: write `nitrate above 30 mg/L` or `salinity below 34 psu`");
    let (key, rest) = text.split_once(' ').ok_or_else(wrong)?;
    let (side, level) = rest.trim().split_once(' ').ok_or_else(wrong)?;
    let side = match side {
        "above" => Side::Above,
        "below" => Side::Below,
        _ => return Err(wrong()),
    };
    if key == "salinity" {
        let level = parse_base::<PracticalSalinity>(level, Gallon::Unstated).map_err(|e| e.to_string())?;
        return Ok(Trigger { of: Variable::Salinity, level, side });
    }
    let names = || solutes.iter().map(|(k, _)| k.as_str()).chain(["salinity"]);
    let i = solutes
        .iter()
        .position(|(k, _)| k == key)
        .ok_or_else(|| format!("there is no solute `{key}` here; {}", nearest(key, names())))?;
    let level = parse_concentration(&solutes[i].1, level).map_err(|e| e.to_string())?;
    Ok(Trigger { of: Variable::Solute(SoluteId::of(i)), level, side })
}

pub(super) fn exchange(
    section: &Section<'_>,
    context: &Context<'_>,
    waters: &Listed<WaterId, Water>,
) -> Option<Exchange> {
    if !section.is_given() && !section.reader.describing {
        return None;
    }
    let operating = context.operating();
    let gallon = section.reader.gallon.get();
    let outflow = section
        .value("out", "Tank water pumped out.", "a flow or a share of the volume per day", "4 L/d", move |t| {
            flow_or_share(t, operating, gallon)
        })
        .check("zero or more", |r| r.litres_per_day() >= 0.0)
        .required();
    let inflow = section
        .value(
            "in",
            "New water pumped in; as much as out where it is absent.",
            "a flow or a share of the volume per day",
            "4 L/d",
            move |t| flow_or_share(t, operating, gallon),
        )
        .check("zero or more", |r| r.litres_per_day() >= 0.0)
        .absent("as much as out");
    let water = water_named(section, waters, "salt_water");
    section.finish();
    let outflow = outflow?;
    Some(Exchange { inflow: inflow.unwrap_or(outflow), outflow, water })
}
