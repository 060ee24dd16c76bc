//! `list`, `show` and `keys`: what the program has and knows.

use brinecast::app::{AppError, LISTS, keys, list, show};
use clap::Args;

use super::FormatArgs;
use crate::cli::exit::Exit;
use crate::cli::print;

/// Example: brinecast list faults
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast list faults")]
pub(crate) struct List {
    /// Of what; without it, of everything.
    #[arg(value_name = "LIST", value_parser = LISTS)]
    kind: Option<String>,
    #[command(flatten)]
    output: FormatArgs,
}

impl List {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        self.output.deliver(&list(self.kind.as_deref())?, &())?;
        Ok(Exit::Fine)
    }
}

/// Example: brinecast show mixed-reef > my-reef.toml
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast show mixed-reef > my-reef.toml")]
pub(crate) struct Show {
    /// Name of a scenario or station that comes with the program.
    name: String,
}

impl Show {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        print::answer(show(&self.name)?);
        Ok(Exit::Fine)
    }
}

/// Example: brinecast keys evaporation
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast keys evaporation")]
pub(crate) struct Keys {
    /// A word to look for; without it, every key.
    word: Option<String>,
    /// Of the files of stations.
    #[arg(long)]
    station: bool,
    #[command(flatten)]
    output: FormatArgs,
}

impl Keys {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        self.output.deliver(&keys(self.word.as_deref(), self.station)?, &())?;
        Ok(Exit::Fine)
    }
}
