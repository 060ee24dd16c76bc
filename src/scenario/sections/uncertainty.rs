//! `[uncertainty]` and `[variants]`: what is not known, and what else might be done.

use crate::scenario::document::Value;
use crate::scenario::reader::Section;
use crate::study::{Correlation, Spread, Uncertainty, parse_day_to_day};
use crate::units::{Fraction, PracticalSalinity};

pub(in crate::scenario) fn uncertainty(section: &Section<'_>) -> Uncertainty {
    let day_to_day = section
        .value(
            "day_to_day",
            "Evaporation from day to day: coefficient of variation, and how long a deviation lasts.",
            "a share and a time",
            "25 %, 3 d",
            parse_day_to_day,
        )
        .optional();
    let missed = section
        .quantity::<Fraction>(
            "missed",
            "Chance that a scheduled change is missed, or a reading by which something is done.",
        )
        .like("10 %")
        .between(0.0, 1.0)
        .optional();
    let batch_error = section
        .quantity::<PracticalSalinity>("batch_error", "Standard deviation of the salinity of a batch.")
        .like("0.5 psu")
        .between(0.0, 10.0)
        .optional();
    let kit_error = section
        .quantity::<Fraction>(
            "kit_error",
            "How far a test kit is off: one standard deviation. With this the keeper reads wrongly by chance, the meter by its own noise.",
        )
        .like("15 %")
        .between(0.0, 1.0)
        .optional();
    let spread = section.section("spread");
    let mut spreads = Vec::new();
    for (key, text, place) in spread.dotted_values() {
        match Spread::parse(&format!("{key}={text}")) {
            Ok(spread) => spreads.push(spread),
            Err(error) => section.reader.complain(&place, error.to_string(), Some(error.remedy().into())),
        }
    }
    let correlation = correlation(section, &spreads);
    section.finish();
    Uncertainty {
        spreads,
        correlation,
        day_to_day,
        missed: missed.map(Fraction::ratio),
        batch_error_psu: batch_error.map(PracticalSalinity::psu),
        kit_error: kit_error.map(Fraction::ratio),
    }
}

/// `correlation`: how the spreads hang together.
fn correlation(section: &Section<'_>, spreads: &[Spread]) -> Correlation {
    let list = section.list(
        "correlation",
        "How spreads hang together: two keys and their correlation.",
        "a list of pairs of keys with a number",
        "[\"losses.skimmate ~ evaporation.rate: -0.4\"]",
    );
    let texts = list.iter().flatten().filter_map(|node| match &node.value {
        Value::Text(text) | Value::Bare(text) => Some(text.as_str()),
        _ => None,
    });
    let help = || Some("example: correlation = [\"losses.skimmate ~ evaporation.rate: -0.4\"]".to_owned());
    match Correlation::parse(texts) {
        Err(why) => section.complain("correlation", why, help()),
        Ok(correlation) => {
            if let Some(key) = correlation.keys().find(|key| spreads.iter().all(|s| s.key != *key)) {
                section.complain(
                    "correlation",
                    format!("`{key}` has no spread that could hang together with another"),
                    help(),
                );
            } else if correlation.lower(spreads).is_none() {
                let why = "the correlations contradict each other: no numbers hang together like that";
                section.complain("correlation", why.into(), help());
            } else {
                return correlation;
            }
        }
    }
    Correlation::default()
}

/// Named variants, each as `KEY=VALUE` overrides.
pub(in crate::scenario) fn variants(root: &Section<'_>) -> Vec<(String, Vec<String>)> {
    root.named("variants")
        .into_iter()
        .filter(|(name, _)| name != "NAME")
        .map(|(name, section)| {
            let sets: Vec<String> =
                section.dotted_values().into_iter().map(|(key, text, _)| format!("{key}={text}")).collect();
            if sets.is_empty() {
                section.complain_here(
                    format!("the variant `{name}` changes nothing"),
                    Some("write keys of the scenario below it; example: change.amount = \"20 %\"".into()),
                );
            }
            (name, sets)
        })
        .collect()
}
