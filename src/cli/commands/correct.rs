//! `correct`: from one salinity to another within a safe rate.

use super::water::{AnimalArgs, salinity, share_of_tank};
use super::{FormatArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use brinecast::app::{AppError, MeterScale, correct};
use brinecast::sizing::{By, CorrectRequest};
use clap::{Args, ValueEnum};

/// Example: brinecast correct mixed-reef --from "31 psu" --to "35 psu"
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast correct mixed-reef --from \"31 psu\" --to \"35 psu\" --by changes --share \"15 %\""
)]
pub(crate) struct Correct {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// Where the tank is.
    #[arg(long, value_name = "S")]
    from: String,
    /// Where it should go; the scenario's own salinity where it is absent.
    #[arg(long, value_name = "S")]
    to: Option<String>,
    #[command(flatten)]
    animals: AnimalArgs,
    /// Days to take; the fewest that are allowed where it is absent.
    #[arg(long)]
    days: Option<u32>,
    /// How: stronger or weaker changes, salt water as top-off, or fresh water for tank water.
    #[arg(long, value_enum, default_value_t = Way::Changes)]
    by: Way,
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
            from: salinity("from", &self.from, tank.temperature)?.psu(),
            to: match &self.to {
                Some(text) => salinity("to", text, tank.temperature)?.psu(),
                None => tank.salinity.psu(),
            },
            up_per_d,
            down_per_d,
            days: self.days,
            by: match self.by {
                Way::Changes => By::Changes { share },
                Way::TopOff => By::TopOff,
                Way::Fresh => By::Fresh,
            },
        };
        let typed = self.to.as_deref().unwrap_or(&self.from);
        let answer = correct(&loaded, &request, group, MeterScale::typed(typed, tank.temperature))?;
        self.output.deliver(&answer, &loaded)?;
        Ok(Exit::Fine)
    }
}
