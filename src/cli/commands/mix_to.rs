//! `mix-to`: the salinity and alkalinity to mix new water to.

use brinecast::app::{AppError, MeterScale, MixToRequest, mix_to};
use clap::Args;

use super::water::salinity;
use super::{FormatArgs, ScenarioArgs};
use crate::cli::exit::Exit;

/// Example: brinecast mix-to mixed-reef --salinity "35 psu"
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast mix-to mixed-reef --salinity \"35 psu\"")]
pub(crate) struct MixTo {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// Settled mean salinity that is wanted; without it, the tank's at the start.
    #[arg(allow_hyphen_values = true, long, value_name = "S")]
    salinity: Option<String>,
    #[command(flatten)]
    output: FormatArgs,
}

impl MixTo {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let t = loaded.scenario.plan.tank.temperature;
        let target = self.salinity.as_ref().map(|s| salinity("salinity", s, t)).transpose()?;
        let meter = self.salinity.as_deref().and_then(|typed| MeterScale::typed(typed, t));
        let answer = mix_to(&loaded, &MixToRequest { target, meter })?;
        self.output.deliver(&answer, &loaded)?;
        Ok(Exit::Fine)
    }
}
