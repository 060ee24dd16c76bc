//! `drift`: how long until a drift is seen, and what a log says.

use super::log::LogArgs;
use super::water::{positive, salinity, salinity_rate, span_d};
use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use brinecast::app::{AppError, DriftRequest, drift};
use brinecast::units::{Gallon, PracticalSalinity};
use clap::Args;
use std::path::PathBuf;

/// Example: brinecast drift continuous-exchange --rate "0.5 psu/month"
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast drift continuous-exchange --rate \"0.5 psu/month\" --read-every \"7 d\" --meter-noise \"0.5 psu\""
)]
pub(crate) struct Drift {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// The drift in question, up or down.
    #[arg(allow_hyphen_values = true, long, value_name = "RATE", default_value = "0.5 psu/month")]
    rate: String,
    /// Time between readings.
    #[arg(long, value_name = "TIME", default_value = "7 d")]
    read_every: String,
    /// Standard deviation of a single reading; without it, that of the scenario's meter.
    #[arg(long, value_name = "S")]
    meter_noise: Option<String>,
    /// A log of your own readings: CSV with `date` or `time_d`, and `salinity_psu`; without it, only how soon a drift would be seen.
    #[arg(long, value_name = "FILE")]
    log: Option<PathBuf>,
    #[command(flatten)]
    reading: LogArgs,
    /// The salinity that is wanted; without it, the scenario's.
    #[arg(long, value_name = "S")]
    salinity: Option<String>,
    #[command(flatten)]
    output: OutputArgs,
}

impl Drift {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let t = loaded.scenario.plan.tank.temperature;
        let psu = |flag: &str, text: &Option<String>| -> Result<Option<f64>, AppError> {
            text.as_deref().map(|s| salinity(flag, s, t).map(PracticalSalinity::psu)).transpose()
        };
        let request = DriftRequest {
            psu_per_d: salinity_rate("rate", self.rate.trim_start_matches('-'))?,
            every_d: span_d("read-every", &self.read_every)?,
            deviation_psu: match &self.meter_noise {
                None => None,
                Some(text) => Some(positive::<PracticalSalinity>("meter-noise", text, Gallon::Unstated)?.psu()),
            },
            log: self.log.clone(),
            reading: self.reading.reading(loaded.scenario.units.gallon())?,
            target_psu: psu("salinity", &self.salinity)?,
        };
        let folder = self.output.folder(loaded.place())?;
        let result = drift(&loaded, &request)?;
        self.output.deliver(&result, &loaded, folder, Some(&loaded.checksum))?;
        Ok(Exit::Fine)
    }
}
