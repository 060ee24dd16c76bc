//! `drift`: how long until a drift is seen, and what a log says.

use super::log::LogArgs;
use super::water::{positive, salinity, salinity_rate};
use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use brinecast::app::{AppError, DriftRequest, drift};
use brinecast::units::{Duration, Gallon, PracticalSalinity, number_with_unit};
use clap::Args;
use std::path::PathBuf;

/// Example: brinecast drift continuous-exchange --rate "0.5 psu/month"
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast drift continuous-exchange --rate \"0.5 psu/month\" --every \"7 d\" --deviation \"0.5 psu\""
)]
pub(crate) struct Drift {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// The drift in question, up or down.
    #[arg(allow_hyphen_values = true, long, value_name = "RATE", default_value = "0.5 psu/month")]
    rate: String,
    /// Time between readings.
    #[arg(long, value_name = "TIME", default_value = "7 d")]
    every: String,
    /// Standard deviation of a single reading; that of the scenario's meter where it is absent.
    #[arg(long, value_name = "SALINITY")]
    deviation: Option<String>,
    /// A log of your own readings: CSV with `date` or `time_d`, and `salinity_psu`.
    #[arg(long, value_name = "FILE")]
    log: Option<PathBuf>,
    #[command(flatten)]
    reading: LogArgs,
    /// What the log should stay at; the scenario's salinity where it is absent.
    #[arg(long, value_name = "S")]
    target: Option<String>,
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
            every_d: positive::<Duration>("every", &self.every, Gallon::Unstated)?.days(),
            deviation_psu: match &self.deviation {
                None => None,
                Some(text) => {
                    let bare = number_with_unit(text).is_ok_and(|(_, unit)| unit.is_empty());
                    let text = if bare { format!("{text} psu") } else { text.clone() };
                    Some(positive::<PracticalSalinity>("deviation", &text, Gallon::Unstated)?.psu())
                }
            },
            log: self.log.clone(),
            reading: self.reading.reading(loaded.scenario.units.gallon())?,
            target_psu: psu("target", &self.target)?,
        };
        let folder = self.output.folder(loaded.place())?;
        let result = drift(&loaded, &request)?;
        self.output.deliver(&result, &loaded, folder, Some(&loaded.checksum))?;
        Ok(Exit::Fine)
    }
}
