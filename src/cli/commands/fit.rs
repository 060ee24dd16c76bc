//! `fit`: the scenario fitted to the keeper's own log.

use std::path::PathBuf;

use brinecast::app::{AppError, DateOrder, FitAnswer, FitRequest, fit};
use brinecast::export::warnings_text;
use brinecast::solutes::View;
use brinecast::units::{significant, trimmed};
use clap::{Args, ValueEnum};

use super::water::percent;
use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use crate::cli::print;

/// Example: brinecast fit my-reef.toml --log my-log.csv
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast fit my-reef.toml --log my-log.csv --want settled.nitrate.peak")]
pub(crate) struct Fit {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// The log: CSV with date or `time_d`, `salinity_psu`, solutes as `nitrate_mg_per_L`, `top_off_L`, `change_L`, `salt_added_g`, `batch_psu`, note.
    #[arg(long, value_name = "FILE")]
    log: PathBuf,
    /// Order of the parts of its dates.
    #[arg(long, value_enum, default_value_t = Dates::Iso)]
    dates: Dates,
    /// The number that matters: for the ranking of the next measurement.
    #[arg(long, value_name = "MEASURE")]
    want: Option<String>,
    /// Standard deviation of a test kit, relative.
    #[arg(long, value_name = "PERCENT", default_value = "15 %")]
    kit_error: String,
    /// Share of the log, from its end, held out to try the forecast.
    #[arg(long, value_name = "PERCENT", default_value = "25 %")]
    held_out: String,
    /// Seed of chance.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    #[command(flatten)]
    output: OutputArgs,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Dates {
    /// 2026-03-14.
    Iso,
    /// 14/03/2026.
    DayFirst,
    /// 03/14/2026.
    MonthFirst,
}

impl Fit {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let request = FitRequest {
            log: self.log.clone(),
            dates: match self.dates {
                Dates::Iso => DateOrder::Iso,
                Dates::DayFirst => DateOrder::DayFirst,
                Dates::MonthFirst => DateOrder::MonthFirst,
            },
            want: self.want.clone(),
            kit: percent("kit-error", &self.kit_error)?,
            held_out: percent("held-out", &self.held_out)?,
            seed: self.seed,
        };
        let folder = self.output.folder(loaded.place())?;
        let result = fit(&loaded, &request)?;
        result.write(&folder)?;
        self.output.answer(&result.json()?, &text(&result.answer, &loaded.scenario.view()));
        for why in &result.answer.left_out {
            print::note(&format!("note: {why}"));
        }
        self.output.finish("fit", folder, Some(&loaded.checksum))?;
        Ok(Exit::Fine)
    }
}

fn text(a: &FitAnswer, view: &View) -> String {
    let mut text = format!("{}, {} basis, {} rows\n\n", a.scenario, a.basis, a.rows);
    text += &format!("{:<30}{:>10}{:>22}  {:<10}{:>6}\n", "", "value", "90 % interval", "unit", "open");
    for e in &a.estimates {
        let shown = view.of(&e.what, &e.unit);
        let number = |value: f64, digits: i32| significant(shown.value(value), digits);
        let interval = format!("{} to {}", number(e.low, 3), number(e.high, 3));
        text += &format!(
            "{:<30}{:>10}{interval:>22}  {:<10}{:>5}%\n",
            e.what,
            number(e.value, 4),
            shown.unit,
            trimmed(100.0 * e.left_open, 0)
        );
    }
    text += "(open: deviation left, of what was assumed beforehand)\n";
    text += &format!("Scatter about the model: {} of the stated errors.\n", trimmed(a.reduced.sqrt(), 2));
    for (what, day) in &a.breaks {
        text += &format!(
            "From about day {} on the {what} leaves the model: a new salt lot, pump, lamp or feed?\n",
            trimmed(*day, 0)
        );
    }
    if !a.open.is_empty() {
        text += &format!("The log cannot tell: {}.\n", a.open.join(", "));
    }
    if let Some(w) = &a.wanted {
        let say = |value: f64| view.say(&w.measure, value, &w.unit, 4);
        let before = w.before.map_or(String::new(), |b| format!(" (as the scenario stood: {})", say(b)));
        text += &format!("\n{}: {}{before}\n", w.measure, say(w.value));
        text += "What to measure next, by how much it narrows the variance of that:\n";
        for (what, share) in a.next.iter().take(5) {
            text += &format!("  {:<58}{:>5} %\n", what, trimmed(100.0 * share, 0));
        }
    }
    if let Some(coverage) = a.coverage {
        text += &format!(
            "\nForecast of the {} readings held out: {} % within their 90 % intervals.\n",
            a.held_out,
            trimmed(100.0 * coverage, 0)
        );
    }
    text + &warnings_text(&a.warnings)
}
