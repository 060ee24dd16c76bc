//! `sensitivity`: which uncertain input matters most.

use brinecast::app::{AppError, sensitivity};
use clap::Args;

use super::uncertain::UncertainArgs;
use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use crate::cli::progress::watched;

/// Example: brinecast sensitivity mixed-reef --spread "losses.skimmate=lognormal(0.2 L/d, 40 %)"
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast sensitivity uncertain-reef --measure settled.nitrate.peak --measure settled.salinity.mean"
)]
pub(crate) struct Sensitivity {
    #[command(flatten)]
    scenario: ScenarioArgs,
    #[command(flatten)]
    uncertain: UncertainArgs,
    /// What is measured: settled.nitrate.peak, salinity.end, litres; many times.
    #[arg(long, value_name = "MEASURE")]
    measure: Vec<String>,
    /// Rows of the design; a power of two serves best. Eight times this times (inputs + 2) runs are made.
    #[arg(long, default_value_t = 64)]
    samples: u32,
    #[command(flatten)]
    output: OutputArgs,
}

impl Sensitivity {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let uncertainty = self.uncertain.read(&loaded)?;
        let seed = u32::try_from(self.uncertain.seed)
            .map_err(|_| AppError::Usage(format!("--seed: at most {} here", u32::MAX)))?;
        let folder = self.output.folder(loaded.place())?;
        let result = watched(self.output.quiet(), |going| {
            sensitivity(&loaded, &uncertainty, &self.measure, self.samples, seed, going)
        })?;
        self.output.deliver(&result, &loaded, folder, Some(&loaded.checksum))?;
        Ok(Exit::Fine)
    }
}
