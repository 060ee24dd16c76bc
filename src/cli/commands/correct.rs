//! `correct`: from one salinity to another within a safe rate.

use super::water::{percent, salinity};
use super::{FormatArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use brinecast::app::{AppError, MeterScale, correct};
use brinecast::sizing::{ANIMALS, By, CorrectRequest, animals};
use brinecast::units::{number_with_unit, over_time};
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
    /// What lives in it, which says how fast it may go and how low (common practice, no source).
    #[arg(long = "for", value_name = "ANIMALS", default_value = ANIMALS[0].key, value_parser = ANIMALS.map(|a| a.key))]
    animals: String,
    /// Most that it may rise in a day; that of the animals where it is absent.
    #[arg(long, value_name = "RATE")]
    up: Option<String>,
    /// Most that it may fall in a day; that of the animals where it is absent.
    #[arg(long, value_name = "RATE")]
    down: Option<String>,
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

/// Reads a rate of salinity \[psu/d\].
pub(super) fn salinity_rate(flag: &str, text: &str) -> Result<f64, AppError> {
    let wrong = || {
        AppError::Usage(format!("--{flag}: `{text}` is no rate of salinity\n  = help: example: --{flag} \"1 psu/d\""))
    };
    let (value, unit) = number_with_unit(text).map_err(|_| wrong())?;
    match over_time(unit) {
        Some(("psu" | "ppt", days)) if value > 0.0 => Ok(value / days),
        _ => Err(wrong()),
    }
}

impl Correct {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let tank = &loaded.scenario.plan.tank;
        let share = percent("share", &self.share)?;
        if !(0.01..=0.9).contains(&share) {
            return Err(AppError::Usage(format!("--share {}: allowed are 1 to 90 %", self.share)));
        }
        let group = animals(&self.animals).unwrap_or(ANIMALS[0]);
        let rate = |flag: &str, text: &Option<String>, usual: f64| -> Result<f64, AppError> {
            text.as_deref().map_or(Ok(usual), |text| salinity_rate(flag, text))
        };
        let request = CorrectRequest {
            from: salinity("from", &self.from, tank.temperature)?.psu(),
            to: match &self.to {
                Some(text) => salinity("to", text, tank.temperature)?.psu(),
                None => tank.salinity.psu(),
            },
            up_per_d: rate("up", &self.up, group.up_per_d)?,
            down_per_d: rate("down", &self.down, group.down_per_d)?,
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
