//! The answer of `correct` in words.

use super::answer::CorrectAnswer;
use crate::app::Loaded;
use crate::app::answer::answers_itself;
use crate::app::report::on_scenario;
use crate::results::{Action, Caution, Report, ReportPart, spoken};
use crate::units::trimmed;

answers_itself!(CorrectAnswer, Loaded, "correct", told);

fn told(a: &CorrectAnswer, loaded: &Loaded) -> Report {
    let view = a.meter.as_ref().map_or_else(|| loaded.scenario.view(), |m| m.view(loaded.scenario.view()));
    let (litres, salinity) = (view.units.shown("L"), view.of("salinity", "psu"));
    let psu = |v: f64, digits: i32| salinity.number(v, digits);
    let shown: Vec<_> = a.solutes.iter().map(|(key, unit)| view.of(key, unit)).collect();
    let mut head = vec!["day".to_owned(), format!("new water [{}]", litres.unit)];
    head.extend(["mix to", "before", "evening"].map(|what| format!("{what} [{}]", salinity.unit)));
    let few = head.len() + a.solutes.len().min(MOST_SOLUTES);
    head.extend(a.solutes.iter().zip(&shown).map(|((key, _), s)| format!("{} [{}]", spoken(key), s.unit)));
    let rows = a.days.iter().map(|d| {
        let mut row = vec![d.day.to_string(), litres.number(d.litres, 3)];
        row.extend([psu(d.mix_psu, 3), psu(d.before_psu, 4), psu(d.after_psu, 4)]);
        row.extend(d.solutes.iter().zip(&shown).map(|(v, s)| s.number(*v, 3)));
        row.truncate(few);
        row
    });
    let head: Vec<&str> = head.iter().take(few).map(String::as_str).collect();
    let rows = rows.collect();
    let days = if a.days.len() == 1 { "1 day".to_owned() } else { format!("{} days", a.days.len()) };
    Report {
        answer: format!(
            "From {} to {} {} by {} in {days}: {} psu a day of {} allowed.",
            psu(a.from_psu, 4),
            psu(a.to_psu, 4),
            salinity.unit,
            a.by,
            trimmed(a.rate_psu_per_d, 2),
            trimmed(a.allowed_psu_per_d, 2)
        ),
        in_turn: true,
        todo: vec![
            Action::new(match a.by.as_str() {
                "changes" => {
                    "Follow the table: each day top off to the mark first, then change. Leave out the usual changes."
                }
                "top-off" => "Each day replace the evaporation with the salt water of the table, not with fresh water.",
                _ => "Each day take out as much tank water as the table says, then pour in purified water slowly.",
            }),
            Action::new("Read the salinity every evening and stop where it moves faster than planned."),
        ],
        numbers_are_the_answer: true,
        numbers: vec![
            ReportPart::table("Day by day", &head, rows),
            ReportPart::Text(format!(
                "New water in all: {}. Evaporation, skimmate and loads go on meanwhile.",
                view.say("", a.litres, "L", 3)
            )),
        ],
        warnings: a.warnings.clone(),
        caution: Some(Caution::Animals),
        cautions: a.cautions.clone(),
        ..on_scenario(loaded, "a correction of salinity", None)
    }
}

/// Solutes in the table.
const MOST_SOLUTES: usize = 6;
