//! `recipe`: the keeper's own grams for a litre.

use std::path::PathBuf;

use brinecast::app::{AppError, RecipeAnswer, place_of, recipe};
use brinecast::export::warnings_text;
use brinecast::sizing::SaltMix;
use brinecast::units::{InUnits, Mass, UnitSystem, Volume, trimmed};
use clap::Args;

use super::OutputArgs;
use super::water::{percent, positive, salinity, temperature};
use crate::cli::exit::Exit;
use crate::cli::print;

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
    /// Units shown, and what a bare gal means: metric, us or imperial.
    #[arg(long, default_value = "metric", value_parser = UnitSystem::NAMES)]
    units: String,
    #[command(flatten)]
    output: OutputArgs,
}

impl Recipe {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let units = UnitSystem::named(&self.units);
        let t = temperature("temperature", &self.temperature)?;
        let label = SaltMix { water_share: percent("water-in-mix", &self.water_in_mix)?, ..SaltMix::default() };
        let next: Volume = positive("finished", &self.finished, units.gallon())?;
        let result = recipe(&self.log, label, salinity("salinity", &self.salinity, t)?, t, next, units)?;
        let folder = self.output.folder(place_of(&self.log.to_string_lossy(), false, &[]))?;
        result.write(&folder)?;
        self.output.answer(&result.json()?, &text(&result.answer, units));
        for why in &result.answer.left_out {
            print::note(&format!("note: {why}"));
        }
        self.output.finish("recipe", folder, None)?;
        Ok(Exit::Fine)
    }
}

fn text(a: &RecipeAnswer, units: UnitSystem) -> String {
    let strength = units.strength();
    let mut text = format!(
        "{}: {} batches\n\nFor {} psu: {} {unit} of mix to fresh water, {} {unit} in finished water, ± {} % (one standard error); a single batch scatters by {} %. Water in the mix: {} %.\n",
        a.scenario,
        a.batches,
        trimmed(a.salinity_psu, 2),
        trimmed(strength.value(a.grams_per_fresh_l), 2),
        trimmed(strength.value(a.grams_per_finished_l), 2),
        trimmed(100.0 * a.error, 1),
        trimmed(100.0 * a.scatter, 1),
        trimmed(100.0 * a.water_share, 1),
        unit = strength.unit
    );
    if let Some((mean, most)) = a.hours {
        text += &format!("Clear after {} h on the mean, {} h at most.\n", trimmed(mean, 1), trimmed(most, 1));
    }
    if let Some((mean, deviation)) = a.ph {
        text += &format!("pH when used: {} ± {}.\n", trimmed(mean, 2), trimmed(deviation, 2));
    }
    text += &format!(
        "Next batch of {}: about {} of mix in all; first dose {}, then stir, read, correct.\n",
        Volume::from_litres(a.next.0).show(units),
        Mass::from_kg(a.next.1).show(units),
        Mass::from_kg(a.next.2).show(units)
    );
    text += &warnings_text(&a.warnings);
    for caution in &a.cautions {
        text += &format!("Caution: {caution}\n");
    }
    text
}
