//! `compare`: variants side by side.

use brinecast::app::{AppError, compare};
use clap::Args;

use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;

/// Example: brinecast compare mixed-reef --case "drier: losses.skimmate=0.05 L/d"
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast compare mixed-reef --case \"drier: losses.skimmate=0.05 L/d\" --case \"stronger: waters.salt_water.salinity=36.5 psu\""
)]
pub(crate) struct Compare {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// A variant: "name: key=value, key=value"; up to five, with those that the scenario names.
    #[arg(long, value_name = "CASE")]
    case: Vec<String>,
    #[command(flatten)]
    output: OutputArgs,
}

impl Compare {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let folder = self.output.folder(loaded.place())?;
        let result = compare(&loaded, &self.case)?;
        self.output.deliver(&result, &loaded, folder, Some(&loaded.checksum))?;
        Ok(Exit::Fine)
    }
}
