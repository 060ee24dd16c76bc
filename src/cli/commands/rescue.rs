//! `rescue`: how much water brings a contaminant down.

use brinecast::app::{AppError, RescueAnswer, RescueRequest, rescue};
use brinecast::sizing::NewWater;
use brinecast::solutes::View;
use brinecast::units::{UnitSystem, Volume, VolumeRate, significant, trimmed};
use clap::Args;

use super::water::{percent, quantity, temperature};
use super::{Format, ScenarioArgs};
use crate::cli::exit::Exit;
use crate::cli::print;

/// Example: brinecast rescue mixed-reef --of copper --from "60 ug/L" --to "3 ug/L"
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast rescue mixed-reef --of copper --from \"60 ug/L\" --to \"3 ug/L\" --store \"200 L\" --made \"180 L/d\""
)]
pub(crate) struct Rescue {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// A solute of the scenario, or the name of anything else that is dissolved.
    #[arg(long, value_name = "NAME")]
    of: String,
    /// Where it is, with its unit.
    #[arg(long, value_name = "CONCENTRATION")]
    from: String,
    /// Where it should go.
    #[arg(long, value_name = "CONCENTRATION")]
    to: String,
    /// What the new water holds of it.
    #[arg(long, value_name = "CONCENTRATION")]
    new: Option<String>,
    /// New water that is ready.
    #[arg(long, value_name = "VOLUME", default_value = "0 L")]
    store: String,
    /// New water that is made a day.
    #[arg(long, value_name = "FLOW", default_value = "0 L/d")]
    made: String,
    /// Largest share of the tank in one change.
    #[arg(long, value_name = "PERCENT", default_value = "90 %")]
    most: String,
    /// Temperature of the new water.
    #[arg(long, value_name = "T")]
    temperature: Option<String>,
    /// Units shown, and what a bare gal means: metric, us or imperial; the scenario's where it is absent.
    #[arg(long, value_parser = UnitSystem::NAMES)]
    units: Option<String>,
    /// How the answer is printed.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

impl Rescue {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let mut loaded = self.scenario.load()?;
        if let Some(units) = &self.units {
            loaded.scenario.units = UnitSystem::named(units);
        }
        let units = loaded.scenario.units;
        let gallon = units.gallon();
        let request = RescueRequest {
            of: self.of.clone(),
            from: self.from.clone(),
            to: self.to.clone(),
            new: self.new.clone(),
            water: NewWater {
                store_l: quantity::<Volume>("store", &self.store, gallon)?.litres(),
                made_l_per_d: quantity::<VolumeRate>("made", &self.made, gallon)?.litres_per_day(),
            },
            most_share: percent("most", &self.most)?,
            temperature: self.temperature.as_deref().map(|t| temperature("temperature", t)).transpose()?,
            units,
        };
        if request.water.store_l < 0.0 || request.water.made_l_per_d < 0.0 {
            return Err(AppError::Usage("--store and --made must be zero or more".into()));
        }
        let answer = rescue(&loaded, &request)?;
        if self.format == Format::Json {
            print::json(&answer)?;
        } else {
            print::answer(&text(&answer, &loaded.scenario.view()));
            print::paragraphs(&words(&answer));
        }
        Ok(Exit::Fine)
    }
}

fn text(answer: &RescueAnswer, view: &View) -> String {
    let of = view.of(&answer.of, &answer.unit);
    let (litres, warmth, alkalinity) = (view.units.shown("L"), view.units.shown("°C"), view.of("alkalinity", "meq/L"));
    let mut text = print::wrapped(&format!(
        "{}, {} basis: {} from {} to {} {} with new water at {} ({} % of the old water left)\n\n",
        answer.scenario,
        answer.basis,
        answer.of,
        significant(of.value(answer.from), 4),
        significant(of.value(answer.to), 4),
        of.unit,
        significant(of.value(answer.new), 3),
        trimmed(100.0 * answer.share_left, 1)
    ));
    text += &format!("{:<22}{:>7}{:>11}{:>11}  {:>27}\n", "", "", "", "", "one change moves at once");
    let rows = [
        ["", "each", "new water", "ready", "salinity", "temp.", "alkalinity"],
        ["", "%", &litres.unit, "", "psu", &warmth.unit, &alkalinity.unit],
    ];
    for [name, share, water, ready, psu, step, alk] in rows {
        text += format!("{name:<22}{share:>7}{water:>11}{ready:>11}{psu:>9}{step:>8}{alk:>12}").trim_end();
        text += "\n";
    }
    for r in &answer.rungs {
        let name = match r.changes {
            0 => "continuous exchange".to_owned(),
            1 => "1 change".to_owned(),
            n => format!("{n} equal changes"),
        };
        let ready = match r.ready_d {
            Some(0.0) => "now".into(),
            Some(d) => format!("day {}", trimmed(d, 1)),
            None => "never".into(),
        };
        let (share, psu, step, alk) = if r.changes == 0 {
            ("-".into(), "slow".into(), "slow".into(), "slow".into())
        } else {
            (
                trimmed(100.0 * r.share, 1),
                format!("{:+.2}", r.salinity_step_psu),
                format!("{:+.1}", warmth.step(r.temperature_step_c)),
                r.alkalinity_step.map_or("-".into(), |a| format!("{:+.2}", alkalinity.step(a))),
            )
        };
        let water = significant(litres.value(r.litres), 4);
        text += &format!("{name:<22}{share:>7}{water:>11}{ready:>11}{psu:>9}{step:>8}{alk:>12}\n");
    }
    text + "(new water: in all; ready: when there is enough of it)\n"
}

fn words(answer: &RescueAnswer) -> String {
    let mut text = String::from(
        "Mixing alone is reckoned: what rock and sand hold comes back, and what is still coming in goes on. Test again before and after every change.\n",
    );
    for w in &answer.warnings {
        text += &format!("Warning ({}): {}.\nTry: {}.\n", w.code, w.text, w.advice);
    }
    for caution in &answer.cautions {
        text += &format!("Caution: {caution}\n");
    }
    text.trim_end().to_owned()
}
