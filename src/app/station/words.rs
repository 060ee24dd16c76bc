//! The answer of `station` in words.

use super::answer::StationResult;
use super::load::LoadedStation;
use crate::app::{Answer, AppError};
use crate::chart::Picture;
use crate::export;
use crate::export::warnings_text;
use crate::results::StationAnswer;
use crate::solutes::View;
use crate::units::{UnitSystem, trimmed};

impl Answer for StationResult {
    type Of = LoadedStation;
    type Data = StationAnswer;

    const COMMAND: &'static str = "station";

    fn data(&self) -> &StationAnswer {
        &self.answer
    }

    fn text(&self, of: &LoadedStation, width: usize) -> String {
        text(&self.answer, of.file.units, width)
    }

    fn cautions(&self) -> &[String] {
        &self.answer.cautions
    }

    fn tables(&self, _of: &LoadedStation) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(vec![
            ("tanks.csv".into(), export::tanks_csv(&self.answer)?),
            ("round.csv".into(), export::round_csv(&self.answer.round)?),
            ("shortage.csv".into(), export::shortage_csv(&self.answer)?),
            ("round.html".into(), self.round.clone().into_bytes()),
        ])
    }

    fn page(&self, _of: &LoadedStation) -> Result<Option<(String, String)>, AppError> {
        Ok(Some(("station.html".into(), self.report.clone())))
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }
}

/// The station for a terminal.
pub(super) fn text(a: &StationAnswer, units: UnitSystem, width: usize) -> String {
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
    text
}

fn short(text: &str) -> String {
    if text.chars().count() > 30 { String::new() } else { format!("({text})") }
}
