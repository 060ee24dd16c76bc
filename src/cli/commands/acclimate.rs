//! `acclimate`: the drip that brings animals to the water of the tank.

use brinecast::app::{AcclimateRequest, AppError, acclimate};
use brinecast::units::{Gallon, PracticalSalinity, Temperature, Volume};
use clap::Args;

use super::FormatArgs;
use super::UnitsArgs;
use super::water::{positive, salinity, salinity_rate, shown_as};
use crate::cli::exit::Exit;

/// Example: brinecast acclimate --volume "2 L" --reads "31 psu" --salinity "35 psu"
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast acclimate --volume \"2 L\" --reads \"31 psu\" --salinity \"35 psu\" --rate \"1.5 psu/h\""
)]
pub(crate) struct Acclimate {
    /// Water that the animals came in.
    #[arg(long, value_name = "VOLUME")]
    volume: String,
    /// What the meter shows in it.
    #[arg(long, value_name = "READING")]
    reads: String,
    /// Salinity of the tank.
    #[arg(long, value_name = "S")]
    salinity: String,
    /// Fastest change of salinity (common practice, no source).
    #[arg(long, value_name = "RATE", default_value = "1.5 psu/h")]
    rate: String,
    /// Difference at which you may move them over.
    #[arg(long, value_name = "S", default_value = "0.5 psu")]
    close: String,
    #[command(flatten)]
    units: UnitsArgs,
    #[command(flatten)]
    output: FormatArgs,
}

impl Acclimate {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let units = self.units.system();
        let t = Temperature::from_celsius(25.0);
        let request = AcclimateRequest {
            vessel: positive::<Volume>("volume", &self.volume, units.gallon())?,
            from: salinity("reads", &self.reads, t)?,
            to: salinity("salinity", &self.salinity, t)?,
            psu_per_h: salinity_rate("rate", &self.rate)? / 24.0,
            close_psu: positive::<PracticalSalinity>("close", &self.close, Gallon::Unstated)?.psu(),
        };
        self.output.deliver(&acclimate(&request)?, &shown_as(units, &self.reads, t))?;
        Ok(Exit::Fine)
    }
}
