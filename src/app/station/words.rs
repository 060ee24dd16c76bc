//! The answer of `station` in words.

use super::answer::{StationResult, purifier_words, salt_words, supply_words};
use super::load::LoadedStation;
use crate::app::{Answer, AppError};
use crate::chart::Picture;
use crate::export;
use crate::export::warnings_text;
use crate::results::StationAnswer;
use crate::solutes::View;
use crate::units::{UnitSystem, trimmed};

/// Columns of tables that may be empty.
const UNMET: [&str; 7] = ["due_d", "due", "tank", "what", "late_d", "missing_L", "why"];
const BATCHES: [&str; 6] = ["vessel", "begin", "salted", "ready", "finished_L", "salt_mix_kg"];

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
            ("levels.csv".into(), export::rows_csv(&self.levels, &[])?),
            ("unmet.csv".into(), export::rows_csv(&self.answer.unmet, &UNMET)?),
            ("batches.csv".into(), export::rows_csv(&self.answer.batches, &BATCHES)?),
            ("trips.csv".into(), export::trips_csv(&self.answer.trips)?),
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
    for line in [salt_words(a, units), supply_words(a, units), purifier_words(a)] {
        text += &fill(&format!("  {line}"), "    ");
    }
    for (title, lines) in [("A year uses:", &a.year), ("A first fill of all tanks takes:", &a.first_fill)] {
        text += &format!("\n{title}\n");
        for line in lines {
            let [amount, unit] = line.shown(units);
            text += format!("  {:<30}{amount:>10} {unit:<6} {}", line.what, short(&line.inputs)).trim_end();
            text += "\n";
        }
    }
    text += &round(a, units, &fill);
    text += &format!("\nBooks of fresh water and salt close to {:.0e}.\n", a.residual);
    text += &warnings_text(&a.warnings);
    text
}

fn round(a: &StationAnswer, units: UnitSystem, fill: &dyn Fn(&str, &str) -> String) -> String {
    let say = |value: f64, unit: &str, digits| View::from(units).say("", value, unit, digits);
    let r = &a.round;
    if r.stops.is_empty() {
        return format!("\nRound of {}: no stops.\n", if r.day.is_empty() { "no day" } else { &r.day });
    }
    let mut text = String::new();
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
        let at = s.arrive.rsplit(' ').next().filter(|at| !at.is_empty());
        let name = at.map_or(name.clone(), |at| format!("{at} {name}"));
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
    text
}

fn short(text: &str) -> String {
    if text.chars().count() > 30 { String::new() } else { format!("({text})") }
}
