//! `check`: read scenario files strictly, and say what is wrong.

use brinecast::app::{AppError, is_built_in_station, load, load_station};
use clap::Args;

use crate::cli::exit::Exit;
use crate::cli::print;

/// Example: brinecast check scenarios/*.toml
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast check scenarios/mixed-reef.toml")]
pub(crate) struct Check {
    /// Scenario files, or files of stations.
    #[arg(required = true)]
    files: Vec<String>,
    /// Override a key in all of them; without it, they are read as they stand.
    #[arg(long, value_name = "KEY=VALUE")]
    set: Vec<String>,
}

impl Check {
    /// What there is in a file that is fine.
    fn check(&self, file: &str) -> Result<String, AppError> {
        let station = || Ok(format!("a station of {} tanks", load_station(Some(file), &self.set)?.tanks.len()));
        if is_built_in_station(file) {
            return station();
        }
        match load(file, &self.set) {
            Ok(loaded) => Ok(format!("{} keys left to their defaults", loaded.scenario.defaults.len())),
            Err(AppError::IsStation(_)) => station(),
            Err(error) => Err(error),
        }
    }

    #[expect(clippy::unnecessary_wraps, reason = "every command answers alike")]
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let mut exit = Exit::Fine;
        for file in &self.files {
            match self.check(file) {
                Ok(words) => print::answer(&format!("{file}: fine, {words}\n")),
                Err(error) => {
                    print::error(&error);
                    exit = Exit::Usage;
                }
            }
        }
        Ok(exit)
    }
}
