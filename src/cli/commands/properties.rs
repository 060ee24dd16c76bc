//! `properties`: a table of what sea water is.

use brinecast::app::{AppError, properties};
use clap::Args;

use super::FormatArgs;
use super::water::PhArgs;
use crate::cli::exit::Exit;

/// Example: brinecast properties --from 30 --to 40 --step 1 --temperature 25C
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast properties --from 30 --to 40 --step 1 --temperature 25C")]
pub(crate) struct Properties {
    /// First salinity, psu.
    #[arg(long, allow_hyphen_values = true, default_value_t = 0.0)]
    from: f64,
    /// Last salinity, psu.
    #[arg(long, default_value_t = 40.0)]
    to: f64,
    /// Step, psu.
    #[arg(long, default_value_t = 5.0)]
    step: f64,
    /// Temperature of the water.
    #[arg(allow_hyphen_values = true, long, value_name = "T", default_value = "25 C")]
    temperature: String,
    #[command(flatten)]
    ph: PhArgs,
    #[command(flatten)]
    output: FormatArgs,
}

impl Properties {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let ph = self.ph.read()?;
        self.output.deliver(&properties(self.from, self.to, self.step, &self.temperature, ph)?, &())?;
        Ok(Exit::Fine)
    }
}
