//! `treat`: salinity down, held and up again, with what changes dilute of the medicines.

use super::water::{AnimalArgs, salinity, share_of_tank, whole_days};
use super::{FormatArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use brinecast::app::{AppError, treat};
use brinecast::sizing::Treatment;
use clap::Args;

/// Example: brinecast treat low-salinity-quarantine --reads "35 psu" --salinity "16 psu" --hold "28 d" --animals marine-fish
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast treat low-salinity-quarantine --reads \"35 psu\" --salinity \"16 psu\" --hold \"28 d\" --animals marine-fish"
)]
pub(crate) struct Treat {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// What the meter shows now, to which it comes back; without it, the scenario's own salinity.
    #[arg(long, value_name = "READING")]
    reads: Option<String>,
    /// The salinity that is held; without it, that of the tank.
    #[arg(long, value_name = "S")]
    salinity: Option<String>,
    /// How long it is held.
    #[arg(long, value_name = "TIME", default_value = "28 d")]
    hold: String,
    #[command(flatten)]
    animals: AnimalArgs,
    /// Share of the tank that is changed a day on the way down and up.
    #[arg(long, value_name = "PERCENT", default_value = "20 %")]
    share: String,
    /// Share that is changed at a time while it is held.
    #[arg(long, value_name = "PERCENT", default_value = "25 %")]
    change: String,
    /// How often.
    #[arg(long, value_name = "TIME", default_value = "3 d")]
    every: String,
    #[command(flatten)]
    output: FormatArgs,
}

impl Treat {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let tank = &loaded.scenario.plan.tank;
        let psu = |flag: &str, text: &Option<String>, usual: f64| -> Result<f64, AppError> {
            text.as_deref().map_or(Ok(usual), |text| Ok(salinity(flag, text, tank.temperature)?.psu()))
        };
        let (group, up_per_d, down_per_d) = self.animals.read()?;
        let from = psu("reads", &self.reads, tank.salinity.psu())?;
        let asked = Treatment {
            from,
            at: psu("salinity", &self.salinity, from)?,
            hold_d: whole_days("hold", &self.hold)?,
            up_per_d,
            down_per_d,
            share: share_of_tank("share", &self.share)?,
            hold_share: share_of_tank("change", &self.change)?,
            hold_every_d: whole_days("every", &self.every)?,
        };
        self.output.deliver(&treat(&loaded, &asked, group)?, &loaded)?;
        Ok(Exit::Fine)
    }
}
