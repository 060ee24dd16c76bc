//! `schema`: the JSON Schema of scenario files.

use brinecast::app::{AppError, to_json};
use brinecast::scenario::{schema, station_schema};
use clap::Args;

use crate::cli::exit::Exit;
use crate::cli::print;

/// Example: brinecast schema > scenario.schema.json
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast schema > scenario.schema.json")]
pub(crate) struct Schema {
    /// Of the files of stations.
    #[arg(long)]
    station: bool,
}

impl Schema {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        print::answer(&to_json(&if self.station { station_schema() } else { schema() })?);
        Ok(Exit::Fine)
    }
}
