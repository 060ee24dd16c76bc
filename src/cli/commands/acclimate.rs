//! `acclimate`: the drip that brings animals to the water of the tank.

use brinecast::app::{AcclimateRequest, AppError, acclimate};
use brinecast::units::{Gallon, PracticalSalinity, Temperature, Volume};
use clap::Args;

use super::FormatArgs;
use super::UnitsArgs;
use super::water::{positive, salinity};
use crate::cli::exit::Exit;

/// Example: brinecast acclimate --vessel "2 L" --from "31 psu" --to "35 psu"
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast acclimate --vessel \"2 L\" --from \"31 psu\" --to \"35 psu\" --rate 1.5")]
pub(crate) struct Acclimate {
    /// Water that the animals came in.
    #[arg(long, value_name = "VOLUME")]
    vessel: String,
    /// Its salinity.
    #[arg(long, value_name = "S")]
    from: String,
    /// Salinity of the tank.
    #[arg(long, value_name = "S")]
    to: String,
    /// Most that the salinity may move in an hour, psu (common practice, no source).
    #[arg(long, value_name = "PSU", default_value_t = 1.5)]
    rate: f64,
    /// Close enough to move them over.
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
            vessel: positive::<Volume>("vessel", &self.vessel, units.gallon())?,
            from: salinity("from", &self.from, t)?,
            to: salinity("to", &self.to, t)?,
            psu_per_h: self.rate,
            close_psu: positive::<PracticalSalinity>("close", &self.close, Gallon::Unstated)?.psu(),
        };
        self.output.deliver(&acclimate(&request)?, &units)?;
        Ok(Exit::Fine)
    }
}
