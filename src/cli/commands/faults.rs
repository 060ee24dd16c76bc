//! `faults`: what goes wrong on one tank, the worst first.

use brinecast::app::{AppError, FaultsRequest, faults};
use brinecast::units::{Duration, Gallon};
use clap::Args;

use super::water::positive;
use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use crate::cli::progress::watched;

/// Example: brinecast faults mixed-reef --from "Fri 18:00" --to "Sun 20:00"
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast faults mixed-reef --from \"Fri 18:00\" --to \"Sun 20:00\"")]
pub(crate) struct Faults {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// A fault to try, by its name, as often as there are some; without it, all of them.
    #[arg(long, value_name = "FAULT")]
    only: Vec<String>,
    /// When the fault begins: 12 d, "Fri 18:00" or "2026-03-14 18:00"; without it, at the start.
    #[arg(long, value_name = "MOMENT")]
    from: Option<String>,
    /// When somebody is back and ends it; without it, 14 days later.
    #[arg(long, value_name = "MOMENT")]
    to: Option<String>,
    /// Let it last until it is noticed.
    #[arg(long)]
    until_seen: bool,
    /// How often you look at level, floor and reservoir.
    #[arg(long, value_name = "TIME", default_value = "1 d")]
    look_every: String,
    /// How often the salinity is read; without it, as the scenario says, or weekly.
    #[arg(long, value_name = "TIME")]
    read_every: Option<String>,
    /// Make every fault so many times its usual size.
    #[arg(long, value_name = "NUMBER", default_value_t = 1.0)]
    times: f64,
    #[command(flatten)]
    output: OutputArgs,
}

impl Faults {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        if !(self.times > 0.0 && self.times <= 20.0) {
            return Err(AppError::Usage(format!("--times {}: allowed are more than 0 and at most 20", self.times)));
        }
        let time = |flag: &str, text: &str| -> Result<Duration, AppError> {
            let time: Duration = positive(flag, text, Gallon::Unstated)?;
            if time.days() < 1.0 / 24.0 {
                return Err(AppError::Usage(format!("--{flag} {text}: at least 1 h")));
            }
            Ok(time)
        };
        let request = FaultsRequest {
            only: self.only.clone(),
            at: self.from.clone(),
            back: self.to.clone(),
            until_seen: self.until_seen,
            look: time("look-every", &self.look_every)?,
            read: self.read_every.as_deref().map(|t| time("read-every", t)).transpose()?,
            times: self.times,
        };
        let folder = self.output.folder(loaded.place())?;
        let result = watched(self.output.quiet(), |going| faults(&loaded, &request, going))?;
        self.output.deliver(&result, &loaded, folder, Some(&loaded.checksum))?;
        Ok(Exit::Fine)
    }
}
