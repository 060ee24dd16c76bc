//! `recipe`: the keeper's own grams for a litre.

use super::OutputArgs;
use super::UnitsArgs;
use super::water::{percent, positive, salinity, temperature};
use crate::cli::exit::Exit;
use brinecast::app::{AppError, place_of, recipe};
use brinecast::sizing::SaltMix;
use brinecast::units::Volume;
use clap::Args;
use std::path::PathBuf;

/// Example: brinecast recipe batches.csv --finished "60 L"
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast recipe batches.csv --finished \"60 L\"")]
pub(crate) struct Recipe {
    /// The log: CSV with `fresh_L`, `salt_g`, `salinity_psu`, and if you like `temperature_C`, hours, pH, lot.
    log: PathBuf,
    /// Water in the mix as its label has it, percent of its mass.
    #[arg(long, value_name = "PERCENT", default_value = "10 %")]
    water_in_mix: String,
    /// Salinity that is wanted.
    #[arg(long, value_name = "S", default_value = "35 psu")]
    salinity: String,
    /// Temperature of the batch.
    #[arg(long, value_name = "T", default_value = "25 C")]
    temperature: String,
    /// Finished volume of the next batch.
    #[arg(long, value_name = "VOLUME", default_value = "100 L")]
    finished: String,
    #[command(flatten)]
    units: UnitsArgs,
    #[command(flatten)]
    output: OutputArgs,
}

impl Recipe {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let units = self.units.system();
        let t = temperature("temperature", &self.temperature)?;
        let label = SaltMix { water_share: percent("water-in-mix", &self.water_in_mix)?, ..SaltMix::default() };
        let next: Volume = positive("finished", &self.finished, units.gallon())?;
        let result = recipe(&self.log, label, salinity("salinity", &self.salinity, t)?, t, next, units)?;
        let folder = self.output.folder(place_of(&self.log.to_string_lossy(), false, &[]))?;
        self.output.deliver(&result, &units, folder, None)?;
        Ok(Exit::Fine)
    }
}
