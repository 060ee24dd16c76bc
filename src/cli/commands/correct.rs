//! `correct`: from one salinity to another within a safe rate.

use brinecast::app::{AppError, CorrectAnswer, correct};
use brinecast::sizing::{By, CorrectRequest};
use brinecast::solutes::View;
use brinecast::units::{number_with_unit, over_time, significant, trimmed};
use clap::{Args, ValueEnum};

use super::water::{MeterScale, percent, salinity};
use super::{Format, ScenarioArgs};
use crate::cli::exit::Exit;
use crate::cli::print;

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
    /// Most that it may rise in a day (common practice, no source).
    #[arg(long, value_name = "RATE", default_value = "1 psu/d")]
    up: String,
    /// Most that it may fall in a day (common practice, no source).
    #[arg(long, value_name = "RATE", default_value = "1.3 psu/d")]
    down: String,
    /// Days to take; the fewest that are allowed where it is absent.
    #[arg(long)]
    days: Option<u32>,
    /// How: stronger or weaker changes, salt water as top-off, or fresh water for tank water.
    #[arg(long, value_enum, default_value_t = Way::Changes)]
    by: Way,
    /// Share of the tank that is changed a day.
    #[arg(long, value_name = "PERCENT", default_value = "10 %")]
    share: String,
    /// How the answer is printed.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
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
        let request = CorrectRequest {
            from: salinity("from", &self.from, tank.temperature)?.psu(),
            to: match &self.to {
                Some(text) => salinity("to", text, tank.temperature)?.psu(),
                None => tank.salinity.psu(),
            },
            up_per_d: salinity_rate("up", &self.up)?,
            down_per_d: salinity_rate("down", &self.down)?,
            days: self.days,
            by: match self.by {
                Way::Changes => By::Changes { share },
                Way::TopOff => By::TopOff,
                Way::Fresh => By::Fresh,
            },
        };
        let answer = correct(&loaded, &request)?;
        if self.format == Format::Json {
            print::json(&answer)?;
        } else {
            let typed = self.to.as_deref().unwrap_or(&self.from);
            let meter = MeterScale::typed(typed, tank.temperature);
            print::answer(&text(&answer, &loaded.scenario.view(), meter.as_ref()));
            print::paragraphs(&words(&answer));
        }
        Ok(Exit::Fine)
    }
}

fn text(answer: &CorrectAnswer, view: &View, meter: Option<&MeterScale>) -> String {
    let mut text = print::wrapped(&format!(
        "{}, {} basis: {} to {} psu{} by {} in {} d, {} psu/d (allowed {} psu/d)\n\n",
        answer.scenario,
        answer.basis,
        trimmed(answer.from_psu, 2),
        trimmed(answer.to_psu, 2),
        meter.map_or(String::new(), |m| m.beside(answer.to_psu)),
        answer.by,
        answer.days.len(),
        trimmed(answer.rate_psu_per_d, 2),
        trimmed(answer.allowed_psu_per_d, 2)
    ));
    let litres = view.units.shown("L");
    let solutes: Vec<_> = answer.solutes.iter().take(MOST_COLUMNS - usize::from(meter.is_some())).collect();
    let shown: Vec<_> = solutes.iter().map(|(key, unit)| view.of(key, unit)).collect();
    text += &format!("{:>4}{:>11}{:>8}", "day", "new water", "mix to");
    text += &meter.map_or(String::new(), |_| format!("{:>13}", "or"));
    text += &format!("{:>10}{:>10}", "before", "evening");
    for (key, _) in &solutes {
        text += &format!("{:>12}", key.chars().take(11).collect::<String>());
    }
    text += &format!("\n{:>4}{:>11}{:>8}", "", litres.unit, "psu");
    text += &meter.map_or(String::new(), |m| format!("{:>13}", m.scale.name()));
    text += &format!("{:>10}{:>10}", "psu", "psu");
    for s in &shown {
        text += &format!("{:>12}", s.unit);
    }
    text += "\n";
    for d in &answer.days {
        text += &format!("{:>4}{:>11}{:>8}", d.day, significant(litres.value(d.litres), 3), trimmed(d.mix_psu, 1));
        text += &meter.map_or(String::new(), |m| format!("{:>13}", m.reading(d.mix_psu).unwrap_or("-".into())));
        text += &format!("{:>10}{:>10}", trimmed(d.before_psu, 2), trimmed(d.after_psu, 2));
        for (value, s) in d.solutes.iter().zip(&shown) {
            text += &format!("{:>12}", significant(s.value(*value), 3));
        }
        text += "\n";
    }
    text + &format!("\n{} of new water in all.\n", view.say("", answer.litres, "L", 3))
}

/// Solutes that fit in 80 columns.
const MOST_COLUMNS: usize = 3;

fn words(answer: &CorrectAnswer) -> String {
    let mut text = String::from(
        "Top off to the mark first, and every day. The usual changes rest meanwhile; evaporation, skimmate and loads go on. Read the salinity every evening and stop where it moves faster than planned.\n",
    );
    for w in &answer.warnings {
        text += &format!("Warning ({}): {}.\nTry: {}.\n", w.code, w.text, w.advice);
    }
    for caution in &answer.cautions {
        text += &format!("Caution: {caution}\n");
    }
    text.trim_end().to_owned()
}
