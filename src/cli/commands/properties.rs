//! `properties`: a table of what sea water is.

use brinecast::app::{AppError, properties};
use brinecast::units::Temperature;
use clap::Args;

use super::FormatArgs;
use super::water::{PhArgs, salinity};
use crate::cli::exit::Exit;

/// Example: brinecast properties --salinity "30 psu..40 psu:11" --temperature 25C
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast properties --salinity \"30 psu..40 psu:11\" --temperature 25C")]
pub(crate) struct Properties {
    /// Salinities: one, or from..to and how many of them.
    #[arg(long, value_name = "S", default_value = "0 psu..40 psu:9")]
    salinity: String,
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
        let (from, to, step) = range(&self.salinity)?;
        self.output.deliver(&properties(from, to, step, &self.temperature, ph)?, &())?;
        Ok(Exit::Fine)
    }
}

/// First, last and step of a range of salinities \[psu\].
fn range(text: &str) -> Result<(f64, f64, f64), AppError> {
    let psu =
        |text: &str| Ok::<f64, AppError>(salinity("salinity", text.trim(), Temperature::from_celsius(25.0))?.psu());
    let Some((from, rest)) = text.split_once("..") else {
        let one = psu(text)?;
        return Ok((one, one, 1.0));
    };
    let wrong = || {
        AppError::Usage(format!(
            "--salinity: `{text}` is no range\n  = help: example: --salinity \"30 psu..40 psu:11\", with 2 to 1000 values"
        ))
    };
    let (to, count) = rest.rsplit_once(':').ok_or_else(wrong)?;
    let count: u32 = count.trim().parse().ok().filter(|n| (2..=1000).contains(n)).ok_or_else(wrong)?;
    let (from, to) = (psu(from)?, psu(to)?);
    if to <= from {
        return Err(wrong());
    }
    Ok((from, to, (to - from) / f64::from(count - 1)))
}
