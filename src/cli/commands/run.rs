//! `run`: simulate a scenario.

use brinecast::app::{self, AppError, Folder};
use brinecast::export::summary_text;
use clap::Args;

use super::{Format, OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use crate::cli::print;

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
        let folder = Folder::open(&self.output.folder(&loaded.scenario.name))?;
        let result = app::run(&loaded)?;
        let written = app::write_run(&loaded, &result, &folder)?;
        match self.output.format {
            Format::Json => print::answer(&result.json()?),
            Format::Text => print::answer(&summary_text(
                &result.summary,
                &loaded.scenario.title,
                &loaded.scenario.view(),
                print::width(),
            )),
        }
        if !self.output.quiet {
            print::note(&format!("{} files written to {}", written.len(), folder.path().display()));
        }
        Ok(if self.check && !result.summary.bands_kept { Exit::No } else { Exit::Fine })
    }
}
