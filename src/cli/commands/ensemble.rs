//! `ensemble`: a scenario under uncertainty.

use brinecast::app::{AppError, EnsembleRequest, Folder, ensemble};
use brinecast::export::ensemble_text;
use brinecast::study::DayToDay;
use brinecast::units::{Duration, Gallon};
use clap::Args;

use super::water::{percent, positive};
use super::{Format, OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use crate::cli::print;

/// Example: brinecast ensemble mixed-reef --day-to-day "25 %, 3 d" --missed "10 %"
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast ensemble mixed-reef --spread \"losses.skimmate=lognormal(0.2 L/d, 40 %)\" --day-to-day \"25 %, 3 d\" --missed \"10 %\" --members 500"
)]
pub(crate) struct Ensemble {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// A key whose value is drawn once for each member: KEY=normal(MEAN, SD), lognormal(MEDIAN, CV), uniform(LOW, HIGH), triangular(LOW, MODE, HIGH), one-of(A, B).
    #[arg(long, value_name = "SPREAD")]
    spread: Vec<String>,
    /// Evaporation from day to day: coefficient of variation and persistence, as in "25 %, 3 d".
    #[arg(long, value_name = "CV, TIME")]
    day_to_day: Option<String>,
    /// Chance that a scheduled change is missed.
    #[arg(long, value_name = "PERCENT", default_value = "0 %")]
    missed: String,
    /// How many members, or a range of them: 1000, or 1000..2000.
    #[arg(long, value_name = "N|A..B", default_value = "1000")]
    members: String,
    /// Seed of chance.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    #[command(flatten)]
    output: OutputArgs,
}

impl Ensemble {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let request = EnsembleRequest {
            spreads: self.spread.clone(),
            day_to_day: self.day_to_day.as_deref().map(day_to_day).transpose()?,
            missed: percent("missed", &self.missed)?,
            seed: self.seed,
            members: members(&self.members)?,
        };
        let folder = Folder::open(&self.output.folder(&loaded.scenario.name))?;
        let result = ensemble(&loaded, &request)?;
        let files = result.write(&folder)?;
        match self.output.format {
            Format::Json => print::answer(&result.json()?),
            Format::Text => print::answer(&ensemble_text(&result.ensemble)),
        }
        if !self.output.quiet {
            print::note(&format!("{files} files written to {}", folder.path().display()));
        }
        Ok(Exit::Fine)
    }
}

fn members(text: &str) -> Result<std::ops::Range<u64>, AppError> {
    let wrong = || {
        AppError::Usage(format!(
            "--members: `{text}` is neither a number nor a range\n  = help: example: --members 1000, or --members 1000..2000"
        ))
    };
    match text.split_once("..") {
        Some((from, to)) => {
            let (from, to) = (from.trim().parse().map_err(|_| wrong())?, to.trim().parse().map_err(|_| wrong())?);
            if from < to { Ok(from..to) } else { Err(wrong()) }
        }
        None => match text.trim().parse() {
            Ok(n) if n > 0 => Ok(0..n),
            _ => Err(wrong()),
        },
    }
}

fn day_to_day(text: &str) -> Result<DayToDay, AppError> {
    let (cv, time) = text.split_once(',').ok_or_else(|| {
        AppError::Usage(format!("--day-to-day: `{text}` does not say how long a deviation lasts\n  = help: example: --day-to-day \"25 %, 3 d\""))
    })?;
    let persistence: Duration = positive("day-to-day", time.trim(), Gallon::Unstated)?;
    Ok(DayToDay { cv: percent("day-to-day", cv.trim())?, persistence_d: persistence.days() })
}
