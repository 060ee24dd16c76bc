//! From a few questions to a scenario, for the keeper who would never write a file.

use crate::app::AppError;
use crate::model::Plan;
use crate::units::{Duration, Gallon, InUnits, UnitSystem, Volume, parse, trimmed};

/// A question of the page, and the answers it takes.
#[derive(Clone, Debug, serde::Serialize)]
pub struct Question {
    /// Its name in the address, after `ask.`.
    pub key: &'static str,
    /// The question.
    pub label: &'static str,
    /// Answers and what they are called; none where a quantity is typed.
    pub choices: Vec<(&'static str, &'static str)>,
    /// The answer taken where none is given.
    pub default: &'static str,
}

/// The questions, in order.
#[must_use]
pub fn questions() -> Vec<Question> {
    let question = |key, label, choices: &[_], default| Question { key, label, choices: choices.to_vec(), default };
    vec![
        question("units", "Which units?", &[("metric", "litres and °C"), ("us", "US gallons and °F")], "metric"),
        question("volume", "How much water is in display and sump, less rock and sand?", &[], "300 L"),
        question(
            "animals",
            "How much is fed?",
            &[("few", "little: a few small fish"), ("usual", "usual"), ("many", "much: large or many fish")],
            "usual",
        ),
        question(
            "top_off",
            "How is evaporated water made up?",
            &[("float", "by a float and a pump"), ("hand", "by hand, every day"), ("none", "not at all")],
            "float",
        ),
        question("skimmer", "Is there a skimmer?", &[("yes", "yes"), ("no", "no")], "yes"),
        question("amount", "How much do you change?", &[], "10 %"),
        question("every", "How often?", &[], "7 d"),
    ]
}

/// Nitrate that a feeding brings \[mg/L/d\]: the middle and its neighbours of what keepers measure between
/// changes (common practice, no source).
const LOADS: [(&str, f64); 3] = [("few", 0.2), ("usual", 0.5), ("many", 1.2)];

/// The scenario that the answers make.
pub(super) fn scenario(answers: &[(String, String)]) -> Result<String, AppError> {
    let questions = questions();
    if let Some((key, _)) = answers.iter().find(|(key, _)| questions.iter().all(|q| q.key != key)) {
        return Err(AppError::Usage(format!("ask.{key} is no question of this page")));
    }
    let answer = |key: &str| -> Result<&str, AppError> {
        let Some(question) = questions.iter().find(|q| q.key == key) else { return Ok("") };
        let given = answers.iter().find(|(k, _)| k == key).map_or(question.default, |(_, v)| v.as_str());
        let fits = question.choices.is_empty() || question.choices.iter().any(|(word, _)| *word == given);
        if fits { Ok(given) } else { Err(AppError::Usage(format!("ask.{key}: `{given}` is no answer"))) }
    };
    let units = answer("units")?;
    let system = if units == "us" { UnitSystem::Us } else { UnitSystem::Metric };
    let asked = |key: &str| questions.iter().find(|q| q.key == key).map_or("", |q| q.label);
    let wrong = |key: &str, why: String| AppError::Usage(format!("ask.{key}: {} {why}", asked(key)));
    // A bare number is meant in the units that were chosen.
    let with_unit = |key: &str, unit: &str| -> Result<String, AppError> {
        let text = answer(key)?.trim();
        Ok(if text.parse::<f64>().is_ok() { format!("{text} {unit}") } else { text.to_owned() })
    };
    let volume: Volume = parse(&with_unit("volume", system.volume_unit().0)?, Gallon::Us)
        .map_err(|e| wrong("volume", format!("{e}; example: {}", if units == "us" { "75 US gal" } else { "300 L" })))?;
    if !(1.0..=1e6).contains(&volume.litres()) {
        return Err(wrong("volume", format!("{} is no tank: allowed are 1 L to 1000 m3", answer("volume")?)));
    }
    let every: Duration =
        parse(&with_unit("every", "d")?, Gallon::Us).map_err(|e| wrong("every", format!("{e}; example: 7 d")))?;
    let amount = with_unit("amount", "%")?.replace(['"', '\\', '\n'], "");
    let load = LOADS.iter().find(|(word, _)| Some(*word) == answer("animals").ok()).map_or(0.5, |(_, load)| *load);
    let skimmate = if answer("skimmer")? == "yes" { 0.03 } else { 0.0 };
    let of = |share: f64| (volume * share).show(system);
    let top_off = match answer("top_off")? {
        "float" => format!(
            "by = \"float\"\npump = \"{} L/h\"\nreservoir = \"{}\"\nrefill = \"3 d\"",
            trimmed((0.08 * volume.litres()).max(2.0), 1),
            of(0.06)
        ),
        by => format!("by = \"{by}\""),
    };
    Ok(format!(
        r#"# Made from the answers on the page; what was not asked is a usual value, to be replaced by your own.
format = 1
title = "My tank"
question = "Does this routine hold the salinity and the nitrate?"
units = "{units}"
run = "365 d"

[tank]
volume = "{volume}"
rim = "{rim}"
temperature = "25.5 C"
salinity = "35 psu"

[bands]
salinity = "34 to 36 psu"
nitrate = "below 25 mg/L"

[solutes.nitrate]
start = "10 mg/L"
load = "{load} mg/L/d"
removal = "1 %/d"

[evaporation]
rate = "1.5 %/d"

[top_off]
{top_off}

[losses]
skimmate = "{skimmate} %/d"

[change]
amount = "{amount}"
every = "{every} d"

[waters.salt_water]
salinity = "35 psu"
"#,
        volume = volume.show(system),
        rim = of(1.1),
        every = every.days(),
    ))
}

/// Surface of a tank of this volume \[m²\], 0.5 m deep (common practice, no source).
pub(super) fn usual_surface_m2(plan: &Plan) -> String {
    trimmed(plan.tank.operating.litres() * 1e-3 / 0.5, 3)
}
