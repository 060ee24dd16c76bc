//! `correct`: from one salinity to another within a safe rate.

use super::water::{AnimalArgs, salinity, share_of_tank, whole_days};
use super::{FormatArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use brinecast::app::{AppError, MeterScale, correct};
use brinecast::sizing::{By, CorrectRequest};
use clap::{Args, ValueEnum};

/// Example: brinecast correct mixed-reef --reads "31 psu" --salinity "35 psu"
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast correct mixed-reef --reads \"31 psu\" --salinity \"35 psu\" --with changes --share \"15 %\""
)]
pub(crate) struct Correct {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// What the meter shows now, on any scale.
    #[arg(long, value_name = "READING")]
    reads: String,
    /// The salinity that is wanted; without it, the scenario's own.
    #[arg(long, value_name = "S")]
    salinity: Option<String>,
    #[command(flatten)]
    animals: AnimalArgs,
    /// How long to take, in whole days; without it, as few as are allowed.
    #[arg(long, value_name = "TIME")]
    span: Option<String>,
    /// How: stronger or weaker changes, salt water as top-off, or fresh water for tank water.
    #[arg(long, value_enum, default_value_t = Way::Changes)]
    with: Way,
    /// Share of the tank that is changed a day.
    #[arg(long, value_name = "PERCENT", default_value = "10 %")]
    share: String,
    #[command(flatten)]
    output: FormatArgs,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Way {
    /// Changes of a share of the tank.
    Changes,
    /// Salt water as top-off; only raises.
    TopOff,
    /// Fresh water for tank water; only lowers.
    Fresh,
}

impl Correct {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let tank = &loaded.scenario.plan.tank;
        let share = share_of_tank("share", &self.share)?;
        let (group, up_per_d, down_per_d) = self.animals.read()?;
        let request = CorrectRequest {
            from: salinity("reads", &self.reads, tank.temperature)?.psu(),
            to: match &self.salinity {
                Some(text) => salinity("salinity", text, tank.temperature)?.psu(),
                None => tank.salinity.psu(),
            },
            up_per_d,
            down_per_d,
            days: self.span.as_deref().map(|text| whole_days("span", text)).transpose()?,
            by: match self.with {
                Way::Changes => By::Changes { share },
                Way::TopOff => By::TopOff,
                Way::Fresh => By::Fresh,
            },
        };
        let typed = self.salinity.as_deref().unwrap_or(&self.reads);
        let answer = correct(&loaded, &request, group, MeterScale::typed(typed, tank.temperature))?;
        self.output.deliver(&answer, &loaded)?;
        Ok(Exit::Fine)
    }
}
