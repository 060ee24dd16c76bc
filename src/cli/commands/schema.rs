//! `schema`: the JSON Schema of scenario files.

use brinecast::app::{AppError, to_json};
use brinecast::scenario::schema;
use clap::Args;

use crate::cli::exit::Exit;
use crate::cli::print;

/// Example: brinecast schema > scenario.schema.json
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast schema > scenario.schema.json")]
pub(crate) struct Schema {}

impl Schema {
    #[expect(clippy::unused_self, reason = "every command runs on its arguments, and this one has none")]
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        print::answer(&to_json(&schema())?);
        Ok(Exit::Fine)
    }
}
