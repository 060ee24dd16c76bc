//! `mix-to`: the salinity and alkalinity to mix new water to.

use brinecast::app::{AppError, mix_to};
use brinecast::units::{PracticalSalinity, significant};
use clap::Args;

use super::water::{MeterScale, salinity};
use super::{Format, ScenarioArgs};
use crate::cli::exit::Exit;
use crate::cli::print;

/// Example: brinecast mix-to mixed-reef --target "35 psu"
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast mix-to mixed-reef --target \"35 psu\"")]
pub(crate) struct MixTo {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// Settled mean salinity that is wanted; the tank's at the start where it is absent.
    #[arg(allow_hyphen_values = true, long, value_name = "S")]
    target: Option<String>,
    /// How the answer is printed.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

impl MixTo {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let t = loaded.scenario.plan.tank.temperature;
        let target = self.target.as_ref().map(|s| salinity("target", s, t)).transpose()?;
        let answer = mix_to(&loaded, target.map(PracticalSalinity::psu))?;
        if self.format == Format::Json {
            print::json(&answer)?;
            return Ok(Exit::Fine);
        }
        let number = |v: f64| significant(v, 4);
        let view = loaded.scenario.view();
        let meter = self.target.as_deref().and_then(|typed| MeterScale::typed(typed, t));
        let mut text = format!("{}: {} basis, new water `{}`\n", answer.scenario, answer.basis, answer.water);
        for line in &answer.lines {
            let shown = view.of(&line.key, &line.unit);
            // A target that was typed on another scale is answered on it too.
            let beside = |psu| match &meter {
                Some(meter) if line.key == "salinity" => meter.beside(psu),
                _ => String::new(),
            };
            let say = |v: f64| number(shown.value(v)) + &beside(v);
            text += &format!(
                "Mix the {} to {} {}{} to hold a mean of {}.\n  Mixed to {} the tank would settle near {}; as the scenario has it, near {}.\n",
                line.key,
                number(shown.value(line.mix_to)),
                shown.unit,
                beside(line.mix_to),
                say(line.target),
                number(shown.value(line.target)),
                say(line.settles_at_target),
                say(line.settles_as_is)
            );
        }
        for warning in &answer.warnings {
            text += &format!("Warning ({}): {}.\n  Try: {}.\n", warning.code, warning.text, warning.advice);
        }
        text += "Caution: check each batch with a calibrated instrument; change living animals' water slowly.\n";
        print::paragraphs(&text);
        Ok(Exit::Fine)
    }
}
