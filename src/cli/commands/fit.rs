//! `fit`: the scenario fitted to the keeper's own log.

use super::log::{LogArgs, Reads};
use super::water::percent;
use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use brinecast::app::{AppError, FitRequest, fit};
use clap::Args;
use std::path::PathBuf;

/// Example: brinecast fit my-reef.toml --log my-log.csv
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast fit my-reef.toml --log my-log.csv --measure settled.nitrate.peak")]
pub(crate) struct Fit {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// The log: CSV with date or `time_d`, `salinity_psu`, solutes as `nitrate_mg_per_L`, `top_off_L`, `change_L`, `salt_added_g`, `batch_psu`, note.
    #[arg(long, value_name = "FILE")]
    log: PathBuf,
    #[command(flatten)]
    reading: LogArgs,
    /// When you read, where you top off by hand; without it, what fits better.
    #[arg(long, value_enum)]
    read_when: Option<Reads>,
    /// The number that matters, for the ranking of the next measurement; without it, settled.salinity.mean.
    #[arg(long, value_name = "MEASURE")]
    measure: Option<String>,
    /// Standard deviation of a test kit, relative.
    #[arg(long, value_name = "PERCENT", default_value = "15 %")]
    kit_error: String,
    /// Share of the log, from its end, held out to try the forecast.
    #[arg(long, value_name = "PERCENT", default_value = "25 %")]
    held_out: String,
    /// Random seed.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    #[command(flatten)]
    output: OutputArgs,
}

impl Fit {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let request = FitRequest {
            log: self.log.clone(),
            reading: self.reading.reading(loaded.scenario.units.gallon())?,
            jug: self.read_when.map(Reads::jug),
            want: self.measure.clone(),
            kit: percent("kit-error", &self.kit_error)?,
            held_out: percent("held-out", &self.held_out)?,
            seed: self.seed,
        };
        let folder = self.output.folder(loaded.place())?;
        let result = fit(&loaded, &request)?;
        self.output.deliver(&result, &loaded, folder, Some(&loaded.checksum))?;
        Ok(Exit::Fine)
    }
}
