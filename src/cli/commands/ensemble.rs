//! `ensemble`: a scenario under uncertainty.

use std::path::PathBuf;

use brinecast::app::{AppError, EnsembleRequest, ensemble, merge};
use clap::Args;

use super::uncertain::UncertainArgs;
use super::water::percent;
use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use crate::cli::progress::watched;

/// Example: brinecast ensemble mixed-reef --day-to-day "25 %, 3 d" --missed "10 %"
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast ensemble mixed-reef --spread \"losses.skimmate=lognormal(0.2 L/d, 40 %)\" --day-to-day \"25 %, 3 d\" --missed \"10 %\" --members 500"
)]
pub(crate) struct Ensemble {
    #[command(flatten)]
    scenario: ScenarioArgs,
    #[command(flatten)]
    uncertain: UncertainArgs,
    /// How many members, or a range of them: 1000, or 1000..2000.
    #[arg(long, value_name = "N", default_value = "1000")]
    members: String,
    /// Add members until the standard error of every chance is below this, as in "1 %"; without it, as many as --members says.
    #[arg(long, value_name = "PERCENT")]
    until_error: Option<String>,
    /// Write the members to members.bin too, so that ranges run apart can be merged.
    #[arg(long, conflicts_with = "no_files")]
    keep_members: bool,
    /// Sum up files of members that were kept; without it, members are run.
    #[arg(long, value_name = "FILE", num_args = 1.., conflicts_with_all = ["until_error", "keep_members"])]
    merge: Vec<PathBuf>,
    #[command(flatten)]
    output: OutputArgs,
}

impl Ensemble {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let until_error = self.until_error.as_deref().map(|t| percent("until-error", t)).transpose()?;
        if until_error.is_some_and(|e| e <= 0.0) {
            return Err(AppError::Usage("--until-error must be more than 0 %".into()));
        }
        let request = EnsembleRequest {
            uncertainty: self.uncertain.read(&loaded)?,
            seed: self.uncertain.seed,
            members: members(&self.members)?,
            until_error,
        };
        let folder = self.output.folder(loaded.place())?;
        let keep = folder.as_ref().filter(|_| self.keep_members);
        let result = watched(self.output.quiet(), |going| {
            if self.merge.is_empty() {
                ensemble(&loaded, &request, keep, going)
            } else {
                merge(&loaded, &self.merge, going)
            }
        })?;
        self.output.deliver(&result, &loaded, folder, Some(&loaded.checksum))?;
        Ok(Exit::Fine)
    }
}

fn members(text: &str) -> Result<std::ops::Range<u64>, AppError> {
    let wrong = || {
        AppError::Usage(format!(
            "--members: `{text}` is neither a number nor a range\n  = help: example: --members 1000, or --members 1000..2000"
        ))
    };
    match text.split_once("..") {
        Some((from, to)) => {
            let (from, to) = (from.trim().parse().map_err(|_| wrong())?, to.trim().parse().map_err(|_| wrong())?);
            if from < to { Ok(from..to) } else { Err(wrong()) }
        }
        None => match text.trim().parse() {
            Ok(n) if n > 0 => Ok(0..n),
            _ => Err(wrong()),
        },
    }
}
