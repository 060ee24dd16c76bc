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
        question("amount", "How much do you change? For example 10 %, 40 L, 10 gal a week", &[], "10 %"),
        question("every", "How often? For example weekly, every 10 days", &[], "weekly"),
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
    let typed = answer("every")? != questions.iter().find(|q| q.key == "every").map_or("", |q| q.default);
    let (amount, often) =
        how_often(&with_unit("amount", "%")?, &with_unit("every", "d")?, typed).map_err(|why| wrong("amount", why))?;
    let every: Duration =
        parse(&often, Gallon::Us).map_err(|e| wrong("every", format!("{e}; examples: weekly, every 10 days, 7 d")))?;
    let amount = amount.replace(['"', '\\', '\n'], "");
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

/// Amount and interval of a change from the two answers: `10 gal a week` answers both. An interval that was `typed` must not
/// say another thing; the usual one that stands there gives way.
fn how_often(amount: &str, every: &str, typed: bool) -> Result<(String, String), String> {
    let every = interval(every).unwrap_or_else(|| every.to_owned());
    match amount_and_interval(amount) {
        (_, Some(often)) if typed && often != every => {
            Err(format!("says every {often}, and the other answer every {every}: which of the two?"))
        }
        (amount, often) => Ok((amount, often.unwrap_or(every))),
    }
}

/// An interval in words as a quantity: `weekly`, `every 10 days`, `twice a week`.
fn interval(text: &str) -> Option<String> {
    let text = text.to_lowercase();
    let text = text.trim().trim_start_matches("every ").trim_start_matches("once ");
    let text = text.trim_start_matches("a ").trim_start_matches("per ");
    let days = match text {
        "daily" | "day" => 1.0,
        "other day" | "second day" | "two days" => 2.0,
        "twice a week" => 3.5,
        "weekly" | "week" => 7.0,
        "fortnightly" | "fortnight" | "biweekly" | "other week" | "second week" | "two weeks" => 14.0,
        "three weeks" => 21.0,
        "monthly" | "month" => 28.0,
        _ => {
            let (number, unit) = text.split_once(' ')?;
            let number: f64 = number.parse().ok()?;
            match unit.trim() {
                "day" | "days" => number,
                "week" | "weeks" => 7.0 * number,
                "month" | "months" => 28.0 * number,
                _ => return None,
            }
        }
    };
    Some(format!("{} d", trimmed(days, 3)))
}

/// `10 gal a week` as its amount and its interval; the amount alone where no interval is told.
fn amount_and_interval(text: &str) -> (String, Option<String>) {
    let lower = text.to_lowercase();
    for word in [" every ", " a ", " per ", " weekly", " daily", " monthly", " fortnightly"] {
        if let Some(at) = lower.find(word) {
            let rest = interval(lower[at..].trim());
            if rest.is_some() && text.is_char_boundary(at) {
                return (text[..at].trim().to_owned(), rest);
            }
        }
    }
    (text.to_owned(), None)
}

/// Surface of a tank of this volume \[m²\], 0.5 m deep (common practice, no source).
pub(super) fn usual_surface_m2(plan: &Plan) -> String {
    trimmed(plan.tank.operating.litres() * 1e-3 / 0.5, 3)
}

#[cfg(test)]
mod tests {
    use super::{amount_and_interval, how_often, interval};

    #[test]
    fn people_say_it_in_words() {
        for (said, days) in
            [("weekly", "7 d"), ("every 10 days", "10 d"), ("Every other week", "14 d"), ("monthly", "28 d")]
        {
            assert_eq!(interval(said).as_deref(), Some(days), "{said}");
        }
        assert_eq!(interval("7 d"), None);
        assert_eq!(amount_and_interval("10 gal a week"), ("10 gal".into(), Some("7 d".into())));
        assert_eq!(amount_and_interval("15 % every 10 days"), ("15 %".into(), Some("10 d".into())));
        assert_eq!(amount_and_interval("10 %"), ("10 %".into(), None));
        // Two intervals that disagree are asked about; the usual one that nobody typed is not.
        assert_eq!(how_often("10 gal a week", "weekly", true), Ok(("10 gal".into(), "7 d".into())));
        assert_eq!(how_often("15 % every 10 days", "weekly", false), Ok(("15 %".into(), "10 d".into())));
        assert!(how_often("10 gal a week", "every 10 days", true).is_err());
    }
}
