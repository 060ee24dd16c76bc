//! `convert`: one value on another scale, or on all of its kind.

use brinecast::app::{AppError, convert};
use clap::Args;

use super::FormatArgs;
use crate::cli::exit::Exit;

/// Example: brinecast convert "1.0264 sg 25C/25C" --temperature 78F
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast convert \"1.0264 sg 25C/25C\" --temperature 78F")]
pub(crate) struct Convert {
    /// The value with its unit: "35 psu", "1.0264 sg 25C/25C", "75 US gal", "8 dKH".
    #[arg(allow_hyphen_values = true)]
    value: String,
    /// The unit to convert to; all of its kind where it is absent.
    #[arg(allow_hyphen_values = true, long, value_name = "UNIT")]
    to: Option<String>,
    /// Temperature of the water.
    #[arg(allow_hyphen_values = true, long, value_name = "T", default_value = "25 C")]
    temperature: String,
    #[command(flatten)]
    output: FormatArgs,
}

impl Convert {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        self.output.deliver(&convert(&self.value, self.to.as_deref(), &self.temperature)?, &())?;
        Ok(Exit::Fine)
    }
}
