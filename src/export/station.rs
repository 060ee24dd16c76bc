//! A station's tables and text.

use super::ExportError;
use super::csv_files::{bytes, writer};
use super::studies::warnings_text;
use crate::results::{Round, StationAnswer};
use crate::solutes::View;
use crate::units::{UnitSystem, trimmed};

/// A row a tank.
pub fn tanks_csv(answer: &StationAnswer) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    out.write_record([
        "tank",
        "salinity_low_psu",
        "salinity_high_psu",
        "changes",
        "changed_L",
        "top_off_L",
        "left_at_d",
    ])?;
    for t in &answer.tanks {
        let numbers = [t.salinity_low, t.salinity_high].map(|n| n.to_string());
        let rest = [t.changes.to_string(), t.changed_l.to_string(), t.top_off_l.to_string()];
        let left = t.left_at_d.map_or(String::new(), |d| d.to_string());
        out.write_record([t.name.clone()].into_iter().chain(numbers).chain(rest).chain([left]))?;
    }
    bytes(out)
}

/// A row a stop.
pub fn round_csv(round: &Round) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    out.write_record(["day", "tank", "sick", "out_L", "mother_L", "trim_L", "top_off_L", "minutes"])?;
    for s in &round.stops {
        let numbers = [s.out_l, s.mother_l, s.trim_l, s.top_off_l, s.minutes].map(|n| n.to_string());
        out.write_record([round.day.clone(), s.name.clone(), s.sick.to_string()].into_iter().chain(numbers))?;
    }
    bytes(out)
}

/// A row a size.
pub fn shortage_csv(answer: &StationAnswer) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    out.write_record(["fresh_store_L", "chance_of_shortage"])?;
    for (size, chance) in &answer.shortage {
        out.write_record([size.to_string(), chance.to_string()])?;
    }
    bytes(out)
}

/// The station for a terminal.
#[must_use]
pub fn station_text(a: &StationAnswer, units: UnitSystem, width: usize) -> String {
    let fill = |text: &str, indent: &str| {
        textwrap::fill(text, textwrap::Options::new(width).subsequent_indent(indent).break_words(false)) + "\n"
    };
    let mut text = format!("{}, {} basis, {} tanks, {} d\n\n", a.scenario, a.basis, a.tanks.len(), trimmed(a.days, 0));
    let say = |value: f64, unit: &str, digits| View::from(units).say("", value, unit, digits);
    text += &fill(&a.answer, "");
    text += "\nSizes:\n";
    for s in &a.sizing {
        let plain = s.plain_l.map_or("several vessels".into(), |p| format!("plain size {}", say(p, "L", 3)));
        text += &fill(
            &format!(
                "  {}: {} ({plain}, {} full{}): {}",
                s.what,
                say(s.needed_l, "L", 3),
                say(s.full_kg, "kg", 3),
                s.floor_kpa.map_or(String::new(), |k| format!(", {} on the floor", say(k, "kPa", 3))),
                s.because
            ),
            "    ",
        );
    }
    text += &fill(
        &format!("  salt mix to hold after a delivery: {}: {}", say(a.salt_store.0, "kg", 3), a.salt_store.1),
        "    ",
    );
    for (title, lines) in [("A year uses:", &a.year), ("A first fill of all tanks takes:", &a.first_fill)] {
        text += &format!("\n{title}\n");
        for line in lines {
            let [amount, unit] = line.shown(units);
            text += format!("  {:<30}{amount:>10} {unit:<6} {}", line.what, short(&line.inputs)).trim_end();
            text += "\n";
        }
    }
    let r = &a.round;
    text += &format!("\nRound of {}, clean before sick:\n", r.day);
    let litres = units.shown("L");
    text += &format!(
        "  {:<22}{:>9}{:>9}{:>10}{:>13}{:>7}\n",
        format!("[{}]", litres.unit),
        "out",
        "salt",
        "fresh",
        "top-off to",
        "min"
    );
    for s in &r.stops {
        let name = if s.sick { format!("{} (sick)", s.name) } else { s.name.clone() };
        text += &format!(
            "  {name:<22}{:>9}{:>9}{:>10}{:>13}{:>7}\n",
            trimmed(litres.value(s.out_l), 1),
            trimmed(litres.value(s.mother_l), 1),
            trimmed(litres.value(s.trim_l), 1),
            trimmed(litres.value(s.top_off_l), 1),
            trimmed(s.minutes, 0)
        );
    }
    text += &fill(
        &format!(
            "  Load {} of salt water and {} of fresh, {} together ({} containers of {} at most); {} h of work.",
            say(r.salt_water_l, "L", 3),
            say(r.fresh_l, "L", 3),
            say(r.mass_kg, "kg", 3),
            r.containers,
            say(r.container_kg, "kg", 3),
            trimmed(r.minutes / 60.0, 1)
        ),
        "    ",
    );
    text += &format!("\nBooks of fresh water and salt close to {:.0e}.\n", a.residual);
    text += &warnings_text(&a.warnings);
    for caution in &a.cautions {
        text += &fill(&format!("Caution: {caution}"), "  ");
    }
    text
}

fn short(text: &str) -> String {
    if text.chars().count() > 30 { String::new() } else { format!("({text})") }
}
