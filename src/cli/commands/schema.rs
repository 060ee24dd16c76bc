//! `schema`: the JSON Schema of scenario files and of answers.

use brinecast::app::{AppError, WITH_SCHEMA, answer_schema, to_json};
use brinecast::scenario::{schema, station_schema};
use clap::Args;

use crate::cli::exit::Exit;
use crate::cli::print;

/// Example: brinecast schema > scenario.schema.json
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast schema --of run > run.schema.json")]
pub(crate) struct Schema {
    /// Of the files of stations.
    #[arg(long)]
    station: bool,
    /// Of the answer of a command; without it, of scenario files.
    #[arg(long = "of", value_name = "COMMAND", conflicts_with = "station", value_parser = clap::builder::PossibleValuesParser::new(WITH_SCHEMA))]
    command: Option<String>,
}

impl Schema {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let answer = self.command.as_deref().and_then(answer_schema);
        let schema = answer.unwrap_or_else(|| if self.station { station_schema() } else { schema() });
        print::answer(&to_json(&schema)?);
        Ok(Exit::Fine)
    }
}
