//! `solve`: the value of one key that does it.

use brinecast::app::{AppError, solve};
use clap::Args;

use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use crate::cli::progress::watched;

/// Example: brinecast solve heavy-fish-load --for change.amount --so-that "nitrate kept"
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast solve uncertain-reef --for change.amount=5%..60% --so-that \"settled.nitrate.peak = 12 mg/L\""
)]
pub(crate) struct Solve {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// The key whose value is looked for, with the range to look in: KEY=FROM..TO. Without a range, from an eighth of the scenario's own value to eight times it.
    #[arg(long = "for", value_name = "KEY")]
    key: String,
    /// What is to be so: MEASURE = VALUE, "bands kept", or "nitrate kept" for one band.
    #[arg(long, value_name = "GOAL")]
    so_that: String,
    #[command(flatten)]
    output: OutputArgs,
    /// End with exit code 1 where no value does it.
    #[arg(long)]
    check: bool,
}

impl Solve {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let folder = self.output.folder(loaded.place())?;
        let result = watched(self.output.quiet(), |going| solve(&loaded, &self.key, &self.so_that, going))?;
        self.output.deliver(&result, &loaded, folder, Some(&loaded.checksum))?;
        let found = !result.answer.met.is_empty() || !result.answer.kept.is_empty();
        Ok(if self.check && !found { Exit::No } else { Exit::Fine })
    }
}
