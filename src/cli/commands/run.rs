//! `run`: simulate a scenario.

use brinecast::app::{self, AppError};
use clap::Args;

use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;

/// Example: brinecast run mixed-reef --set change.every=10d
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast run mixed-reef --set change.every=10d")]
pub(crate) struct Run {
    #[command(flatten)]
    scenario: ScenarioArgs,
    #[command(flatten)]
    output: OutputArgs,
    /// End with exit code 1 where a band is broken.
    #[arg(long)]
    check: bool,
}

impl Run {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let folder = self.output.folder(loaded.place())?;
        let result = app::run(&loaded)?;
        self.output.deliver(&result, &loaded, folder, Some(&loaded.checksum))?;
        Ok(if self.check && !result.summary.bands_kept { Exit::No } else { Exit::Fine })
    }
}
