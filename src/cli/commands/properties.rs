//! `properties`: a table of what sea water is.

use brinecast::app::{AppError, properties};
use brinecast::model::Ph;
use brinecast::seawater::PhScale;
use clap::Args;

use super::FormatArgs;
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
    /// A pH, for the toxic share of total ammonia.
    #[arg(long, requires = "ph_scale")]
    ph: Option<f64>,
    /// Scale of the pH: nbs, a meter set with buffers of 4, 7 and 10; total, that of sea water's constants.
    #[arg(long, value_name = "nbs|total", value_parser = ["nbs", "total"], requires = "ph")]
    ph_scale: Option<String>,
    #[command(flatten)]
    output: FormatArgs,
}

impl Properties {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        if self.ph.is_some_and(|ph| !(6.0..=10.0).contains(&ph)) {
            return Err(AppError::Usage("--ph: allowed are 6 to 10; example: --ph 8.2 --ph-scale nbs".into()));
        }
        let scale = if self.ph_scale.as_deref() == Some("nbs") { PhScale::Nbs } else { PhScale::Total };
        let ph = self.ph.map(|highest| Ph { highest, scale });
        self.output.deliver(&properties(self.from, self.to, self.step, &self.temperature, ph)?, &())?;
        Ok(Exit::Fine)
    }
}
