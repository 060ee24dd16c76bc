//! A station's tables and text.

use super::ExportError;
use super::csv_files::{bytes, writer};
use super::studies::warnings_text;
use crate::results::{Round, StationAnswer};
use crate::units::{significant, trimmed};

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
pub fn station_text(a: &StationAnswer, width: usize) -> String {
    let fill = |text: &str, indent: &str| {
        textwrap::fill(text, textwrap::Options::new(width).subsequent_indent(indent).break_words(false)) + "\n"
    };
    let mut text = format!("{}, {} basis, {} tanks, {} d\n\n", a.scenario, a.basis, a.tanks.len(), trimmed(a.days, 0));
    text += &fill(&a.answer, "");
    text += "\nSizes:\n";
    for s in &a.sizing {
        let plain = s.plain_l.map_or("several vessels".into(), |p| format!("plain size {} L", trimmed(p, 0)));
        text += &fill(
            &format!(
                "  {}: {} L ({plain}, {} kg full{}): {}",
                s.what,
                significant(s.needed_l, 3),
                significant(s.full_kg, 3),
                s.floor_kpa.map_or(String::new(), |k| format!(", {} kPa on the floor", trimmed(k, 1))),
                s.because
            ),
            "    ",
        );
    }
    text += &fill(
        &format!("  salt mix to hold after a delivery: {} kg: {}", significant(a.salt_store.0, 3), a.salt_store.1),
        "    ",
    );
    for (title, lines) in [("A year uses:", &a.year), ("A first fill of all tanks takes:", &a.first_fill)] {
        text += &format!("\n{title}\n");
        for line in lines {
            text += &format!(
                "  {:<30}{:>10} {:<5} {}\n",
                line.what,
                significant(line.amount, 4),
                line.unit,
                short(&line.inputs)
            );
        }
    }
    let r = &a.round;
    text += &format!("\nRound of {}, clean before sick:\n", r.day);
    text += &format!("  {:<22}{:>9}{:>9}{:>10}{:>13}{:>7}\n", "", "out L", "salt L", "fresh L", "top-off to L", "min");
    for s in &r.stops {
        let name = if s.sick { format!("{} (sick)", s.name) } else { s.name.clone() };
        text += &format!(
            "  {name:<22}{:>9}{:>9}{:>10}{:>13}{:>7}\n",
            trimmed(s.out_l, 1),
            trimmed(s.mother_l, 1),
            trimmed(s.trim_l, 1),
            trimmed(s.top_off_l, 1),
            trimmed(s.minutes, 0)
        );
    }
    text += &fill(
        &format!(
            "  Load {} L of salt water and {} L of fresh, {} kg together ({} containers of {} kg at most); {} h of work.",
            trimmed(r.salt_water_l, 0),
            trimmed(r.fresh_l, 0),
            significant(r.mass_kg, 3),
            r.containers,
            trimmed(r.container_kg, 1),
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
