//! `log`: what a log of a tank says, before anything is learned from it.

use std::path::PathBuf;

use brinecast::app::{AppError, DateOrder, LogReading, log_check};
use brinecast::learn::Jug;
use brinecast::seawater::Scale;
use brinecast::units::Gallon;
use clap::{Args, ValueEnum};

use super::adjust::calibration;
use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;

/// How a log is read, where it does not say so itself.
#[derive(Debug, Args)]
pub(crate) struct LogArgs {
    /// Order of the parts of its dates; without it, what the log decides, and a log that does not is refused.
    #[arg(long, value_enum)]
    dates: Option<Dates>,
    /// What a column means: "salinity (psu)=My meter", "nitrate (mg/L)=NO3 test", "ignore=pH". May be given many times.
    #[arg(long, value_name = "WHAT=HEADER")]
    column: Vec<String>,
    /// The scale of the meter where a column of salinity has none, as in "sg 60F/60F"; without it, a column that reads like a specific gravity is refused, and any other is in psu.
    #[arg(long, value_name = "SCALE")]
    meter_scale: Option<String>,
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

impl LogArgs {
    /// As the reader takes it.
    pub(crate) fn reading(&self, gallon: Gallon) -> Result<LogReading, AppError> {
        let scale = |text: &str| {
            Scale::parse(text).map_err(|e| {
                AppError::Usage(format!("--meter-scale: {e}\n  = help: example: --meter-scale \"sg 60F/60F\""))
            })
        };
        Ok(LogReading {
            order: self.dates.map(|dates| match dates {
                Dates::Iso => DateOrder::Iso,
                Dates::DayFirst => DateOrder::DayFirst,
                Dates::MonthFirst => DateOrder::MonthFirst,
            }),
            columns: self.column.clone(),
            scale: self.meter_scale.as_deref().map(scale).transpose()?,
            gallon,
        })
    }
}

/// Example: brinecast log my-log.csv my-reef.toml
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast log my-log.csv my-reef.toml --standard \"35 psu reads 36.2 psu\" --since \"60 d\""
)]
pub(crate) struct Log {
    /// The log: CSV.
    #[arg(value_name = "LOG")]
    file: PathBuf,
    #[command(flatten)]
    scenario: ScenarioArgs,
    #[command(flatten)]
    reading: LogArgs,
    /// What the meter showed in a standard: "35 psu reads 36.2 psu"; the readings are put right by it; without it, they are taken as they are.
    #[arg(long, value_name = "S reads S")]
    standard: Vec<String>,
    /// The day from which on the meter was so, a date or as the log counts its days; without it, all readings.
    #[arg(long, value_name = "DAY", requires = "standard")]
    since: Option<String>,
    #[command(flatten)]
    output: OutputArgs,
}

impl Log {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let reading = self.reading.reading(loaded.scenario.units.gallon())?;
        let calibration = if self.standard.is_empty() {
            None
        } else {
            Some((calibration(&self.standard, loaded.scenario.plan.tank.temperature)?, self.since.as_deref()))
        };
        let folder = self.output.folder(loaded.place())?;
        let result = log_check(&loaded, &self.file, &reading, calibration)?;
        self.output.deliver(&result, &loaded, folder, Some(&loaded.checksum))?;
        Ok(Exit::Fine)
    }
}

/// When somebody who tops off by hand reads the meter.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum Reads {
    /// Before the jug: the level is down.
    BeforeTopOff,
    /// After it: the tank is at its mark.
    AfterTopOff,
}

impl Reads {
    /// The same as a fit counts it.
    pub(crate) fn jug(self) -> Jug {
        match self {
            Self::BeforeTopOff => Jug::ReadBefore,
            Self::AfterTopOff => Jug::ReadAfter,
        }
    }
}
