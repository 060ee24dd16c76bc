//! `rescue`: how much water brings a contaminant down.

use super::water::{percent, quantity, temperature};
use super::{FormatArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use brinecast::app::{AppError, RescueRequest, rescue};
use brinecast::sizing::NewWater;
use brinecast::units::{Volume, VolumeRate};
use clap::Args;

/// Example: brinecast rescue mixed-reef --solute copper --reads "60 ug/L" --down-to "3 ug/L"
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast rescue mixed-reef --solute copper --reads \"60 ug/L\" --down-to \"3 ug/L\" --store \"200 L\" --made \"180 L/d\""
)]
pub(crate) struct Rescue {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// A solute of the scenario, or the name of anything else that is dissolved.
    #[arg(long, value_name = "NAME")]
    solute: String,
    /// Where it is, with its unit.
    #[arg(long, value_name = "READING")]
    reads: String,
    /// Where it should go.
    #[arg(long, value_name = "LEVEL")]
    down_to: String,
    /// What the new water holds of it; without it, what the scenario's salt water does, and nothing of what it does not track.
    #[arg(long, value_name = "LEVEL")]
    new_water: Option<String>,
    /// What is still coming in, as a rise a day; without it, that of the scenario.
    #[arg(long, value_name = "RATE")]
    load: Option<String>,
    /// New water that is ready.
    #[arg(long, value_name = "VOLUME", default_value = "0 L")]
    store: String,
    /// New water that is made a day.
    #[arg(long, value_name = "FLOW", default_value = "0 L/d")]
    made: String,
    /// Largest share of the tank in one change.
    #[arg(long, value_name = "PERCENT", default_value = "90 %")]
    share: String,
    /// Temperature of the new water; without it, that of the tank.
    #[arg(long, value_name = "T")]
    temperature: Option<String>,
    #[command(flatten)]
    output: FormatArgs,
}

impl Rescue {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let units = loaded.scenario.units;
        let gallon = units.gallon();
        let request = RescueRequest {
            of: self.solute.clone(),
            from: self.reads.clone(),
            to: self.down_to.clone(),
            new: self.new_water.clone(),
            load: self.load.clone(),
            water: NewWater {
                store_l: quantity::<Volume>("store", &self.store, gallon)?.litres(),
                made_l_per_d: quantity::<VolumeRate>("made", &self.made, gallon)?.litres_per_day(),
            },
            most_share: percent("share", &self.share)?,
            temperature: self.temperature.as_deref().map(|t| temperature("temperature", t)).transpose()?,
            units,
        };
        if request.water.store_l < 0.0 || request.water.made_l_per_d < 0.0 {
            return Err(AppError::Usage("--store and --made must be zero or more".into()));
        }
        let answer = rescue(&loaded, &request)?;
        self.output.deliver(&answer, &loaded)?;
        Ok(Exit::Fine)
    }
}
