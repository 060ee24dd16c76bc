//! `treat`: salinity down, held and up again, with what changes dilute of the medicines.

use super::water::{AnimalArgs, positive, salinity, share_of_tank};
use super::{FormatArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use brinecast::app::{AppError, treat};
use brinecast::sizing::Treatment;
use brinecast::units::{Duration, Gallon};
use clap::Args;

/// Example: brinecast treat low-salinity-quarantine --from "35 psu" --at "16 psu" --hold "28 d" --for marine-fish
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast treat low-salinity-quarantine --from \"35 psu\" --at \"16 psu\" --hold \"28 d\" --for marine-fish"
)]
pub(crate) struct Treat {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// Where the tank is, and where it comes back to; the scenario's own salinity where it is absent.
    #[arg(long, value_name = "S")]
    from: Option<String>,
    /// Salinity that is held; that of the tank where it is absent.
    #[arg(long, value_name = "S")]
    at: Option<String>,
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

/// A time in whole days.
fn whole_days(flag: &str, text: &str) -> Result<u32, AppError> {
    let days = positive::<Duration>(flag, text, Gallon::Unstated)?.days();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small whole number")]
    if (1.0..=1000.0).contains(&days) && (days - days.round()).abs() < 1e-9 {
        return Ok(days.round() as u32);
    }
    Err(AppError::Usage(format!("--{flag} {text}: whole days are asked for\n  = help: example: --{flag} \"3 d\"")))
}

impl Treat {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let tank = &loaded.scenario.plan.tank;
        let psu = |flag: &str, text: &Option<String>, usual: f64| -> Result<f64, AppError> {
            text.as_deref().map_or(Ok(usual), |text| Ok(salinity(flag, text, tank.temperature)?.psu()))
        };
        let (group, up_per_d, down_per_d) = self.animals.read()?;
        let from = psu("from", &self.from, tank.salinity.psu())?;
        let asked = Treatment {
            from,
            at: psu("at", &self.at, from)?,
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
