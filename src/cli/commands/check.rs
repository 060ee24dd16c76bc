//! `check`: read scenario files strictly, and say what is wrong.

use brinecast::app::{AppError, load};
use clap::Args;

use crate::cli::exit::Exit;
use crate::cli::print;

/// Example: brinecast check scenarios/*.toml
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast check scenarios/mixed-reef.toml")]
pub(crate) struct Check {
    /// Scenario files.
    #[arg(required = true)]
    files: Vec<String>,
    /// Override a key in all of them.
    #[arg(long, value_name = "KEY=VALUE")]
    set: Vec<String>,
}

impl Check {
    #[expect(clippy::unnecessary_wraps, reason = "every command answers alike")]
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let mut exit = Exit::Fine;
        for file in &self.files {
            match load(file, &self.set) {
                Ok(loaded) => print::answer(&format!(
                    "{file}: fine, {} keys left to their defaults\n",
                    loaded.scenario.defaults.len()
                )),
                Err(error) => {
                    print::error(&error);
                    exit = Exit::Usage;
                }
            }
        }
        Ok(exit)
    }
}
