//! `away`: how long the tank may be left.

use super::uncertain::UncertainArgs;
use super::water::span_d;
use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use brinecast::app::{AppError, AwayRequest, away};
use clap::Args;

/// Example: brinecast away mixed-reef --span "14 d"
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast away mixed-reef --span \"14 d\" --members 1000")]
pub(crate) struct Away {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// How long nobody is there.
    #[arg(long, value_name = "TIME", default_value = "14 d")]
    span: String,
    /// Number of simulated tanks.
    #[arg(long, value_name = "N", default_value_t = 2000)]
    members: u64,
    #[command(flatten)]
    uncertain: UncertainArgs,
    #[command(flatten)]
    output: OutputArgs,
    /// End with exit code 1 where the tank cannot be left that long.
    #[arg(long)]
    check: bool,
}

impl Away {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        if !(10..=200_000).contains(&self.members) {
            return Err(AppError::Usage(format!("--members {}: allowed are 10 to 200000", self.members)));
        }
        let request = AwayRequest {
            days: span_d("span", &self.span)?,
            uncertainty: self.uncertain.read(&loaded)?,
            members: self.members,
            seed: self.uncertain.seed,
        };
        let folder = self.output.folder(loaded.place())?;
        let result = away(&loaded, &request)?;
        self.output.deliver(&result, &loaded, folder, Some(&loaded.checksum))?;
        Ok(if self.check && !result.answer.safe { Exit::No } else { Exit::Fine })
    }
}
