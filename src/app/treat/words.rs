//! The answer of `treat` in words.

use super::answer::TreatAnswer;
use crate::app::Loaded;
use crate::app::answer::answers_itself;
use crate::app::report::on_scenario;
use crate::results::{Action, Caution, Report, ReportPart, ReportSection};
use crate::units::{significant, trimmed};

answers_itself!(TreatAnswer, Loaded, "treat", told);

fn told(a: &TreatAnswer, loaded: &Loaded) -> Report {
    let view = loaded.scenario.view();
    let last = |phase: &str| a.days.iter().rev().find(|d| d.phase == phase).map(|d| d.day);
    let (end, up) = (a.days.last().map_or(0, |d| d.day), last("up").is_some());
    let mut answer = format!("Held at {} for {} days", view.say("salinity", a.at_psu, "psu", 4), a.hold_d);
    if let Some(down) = last("down") {
        answer += &format!(", from the evening of day {down} on");
    }
    if up {
        answer += &format!("; back at {} on day {end}", view.say("salinity", a.from_psu, "psu", 4));
    }
    let rate = if up {
        format!(
            " For {}: at most {} psu a day down and {} up.",
            a.animals,
            trimmed(a.down_psu_per_d, 2),
            trimmed(a.up_psu_per_d, 2)
        )
    } else {
        String::new()
    };
    let (litres, salinity) = (view.units.shown("L"), view.of("salinity", "psu"));
    let mut todo = vec![Action::new(
        "Follow the table; read the salinity every evening, and stop where it moves faster than planned.",
    )];
    for m in &a.medicines {
        let shown = view.of(&m.name, &m.held_unit);
        todo.push(Action::new(format!(
            "Keep {} at {} {}. Each change removes some: dose as the table says, {} {} in all.",
            m.name,
            shown.number(m.held_at, 3),
            shown.unit,
            significant(m.in_all, 3),
            m.unit
        )));
    }
    let mut head = vec![
        "day".to_owned(),
        String::new(),
        format!("new water [{}]", litres.unit),
        format!("mix to [{}]", salinity.unit),
        format!("evening [{}]", salinity.unit),
    ];
    head.extend(a.medicines.iter().map(|m| format!("{} [{}]", m.name, m.unit)));
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let rows = a.days.iter().map(|d| {
        let (water, mix) = if d.litres > 0.0 {
            (litres.number(d.litres, 3), salinity.number(d.mix_psu, 3))
        } else {
            ("-".into(), "-".into())
        };
        let mut row = vec![d.day.to_string(), d.phase.to_owned(), water, mix, salinity.number(d.evening_psu, 4)];
        row.extend(d.doses.iter().map(|dose| if *dose > 0.0 { significant(*dose, 3) } else { "-".into() }));
        row
    });
    Report {
        answer: answer + "." + &rate,
        todo,
        in_turn: true,
        numbers_are_the_answer: true,
        numbers: vec![
            ReportPart::table("Day by day", &head, rows.collect()),
            ReportPart::Text(format!("New water in all: {}.", view.say("", a.litres, "L", 3))),
        ],
        sections: vec![ReportSection::new(
            "Before you treat",
            vec![ReportPart::text(
                "Test each medicine before you dose it again, and go by the test. Ask a veterinarian what to treat with, how strong and how long; follow the maker's instructions. Run no carbon during the treatment.",
            )],
        )],
        warnings: a.warnings.clone(),
        caution: Some(Caution::Animals),
        cautions: a.cautions.clone(),
        ..on_scenario(loaded, "a treatment", None)
    }
}
