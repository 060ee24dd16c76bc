//! `compare`: variants side by side.

use brinecast::app::{AppError, UnderRequest, compare};
use brinecast::units::{Duration, Gallon};
use clap::Args;

use super::uncertain::UncertainArgs;
use super::water::positive;
use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use crate::cli::progress::watched;

/// Example: brinecast compare mixed-reef --case "drier: losses.skimmate=0.05 L/d"
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast compare mixed-reef --case \"drier: losses.skimmate=0.05 L/d\" --case \"stronger: waters.salt_water.salinity=36.5 psu\""
)]
pub(crate) struct Compare {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// A variant: "name: key=value, key=value"; up to five, with those that the scenario names; without it, those alone.
    #[arg(long, value_name = "CASE")]
    case: Vec<String>,
    /// For how long every band must be kept in each, once it has long been in force, where something is uncertain.
    #[arg(long, value_name = "TIME", default_value = "365 d")]
    span: String,
    /// Members of each, where something is uncertain.
    #[arg(long, value_name = "N", default_value_t = 200)]
    members: u64,
    #[command(flatten)]
    uncertain: UncertainArgs,
    #[command(flatten)]
    output: OutputArgs,
}

impl Compare {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let folder = self.output.folder(loaded.place())?;
        if !(10..=20_000).contains(&self.members) {
            return Err(AppError::Usage(format!("--members {}: allowed are 10 to 20000", self.members)));
        }
        let request = UnderRequest {
            uncertainty: self.uncertain.read(&loaded)?,
            members: self.members,
            span_d: positive::<Duration>("span", &self.span, Gallon::Unstated)?.days(),
            seed: self.uncertain.seed,
        };
        let result = watched(self.output.quiet(), |going| compare(&loaded, &self.case, &request, going))?;
        self.output.deliver(&result, &loaded, folder, Some(&loaded.checksum))?;
        Ok(Exit::Fine)
    }
}
