//! `convert`: one value on another scale, or on all of its kind.

use brinecast::app::{AppError, convert, convert_toxic};
use clap::Args;

use super::FormatArgs;
use super::water::PhArgs;
use crate::cli::exit::Exit;

/// Example: brinecast convert "1.0264 sg 25C/25C" --temperature 78F
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast convert \"1.0264 sg 25C/25C\" --temperature 78F")]
pub(crate) struct Convert {
    /// The value with its unit: "35 psu", "1.0264 sg 25C/25C", "75 US gal", "8 dKH".
    #[arg(allow_hyphen_values = true)]
    value: String,
    /// The unit to convert to; without it, all of its kind.
    #[arg(allow_hyphen_values = true, long = "in", value_name = "UNIT")]
    to: Option<String>,
    /// Temperature of the water.
    #[arg(allow_hyphen_values = true, long, value_name = "T", default_value = "25 C")]
    temperature: String,
    /// Salinity of the water, for the toxic share of total ammonia.
    #[arg(long, value_name = "S", default_value = "35 psu")]
    salinity: String,
    #[command(flatten)]
    ph: PhArgs,
    #[command(flatten)]
    output: FormatArgs,
}

impl Convert {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let to = self.to.as_deref();
        let answer = match self.ph.read()? {
            Some(ph) => convert_toxic(&self.value, to, &self.temperature, &self.salinity, ph)?,
            None => convert(&self.value, to, &self.temperature)?,
        };
        self.output.deliver(&answer, &())?;
        Ok(Exit::Fine)
    }
}
