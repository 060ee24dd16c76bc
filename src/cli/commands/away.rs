//! `away`: how long the tank may be left.

use super::uncertain::UncertainArgs;
use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use brinecast::app::{AppError, AwayRequest, away};
use clap::Args;

/// Example: brinecast away mixed-reef --days 14
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast away mixed-reef --days 14 --members 1000")]
pub(crate) struct Away {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// Days of absence.
    #[arg(long, default_value_t = 14.0)]
    days: f64,
    /// Members.
    #[arg(long, default_value_t = 2000)]
    members: u64,
    #[command(flatten)]
    uncertain: UncertainArgs,
    #[command(flatten)]
    output: OutputArgs,
}

impl Away {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        if !(10..=200_000).contains(&self.members) {
            return Err(AppError::Usage(format!("--members {}: allowed are 10 to 200000", self.members)));
        }
        let request = AwayRequest {
            days: self.days,
            uncertainty: self.uncertain.read(&loaded)?,
            members: self.members,
            seed: self.uncertain.seed,
        };
        let folder = self.output.folder(loaded.place())?;
        let result = away(&loaded, &request)?;
        self.output.deliver(&result, &loaded, folder, Some(&loaded.checksum))?;
        Ok(Exit::Fine)
    }
}
