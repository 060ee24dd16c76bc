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
        let mut row = vec![d.phase.to_owned(), water, mix, salinity.number(d.evening_psu, 4)];
        row.extend(d.doses.iter().map(|dose| if *dose > 0.0 { significant(*dose, 3) } else { "-".into() }));
        (d.day, row)
    });
    Report {
        answer: answer + "." + &rate,
        todo,
        in_turn: true,
        numbers_are_the_answer: true,
        numbers: vec![
            ReportPart::table("Day by day", &head, days_together(&rows.collect::<Vec<_>>())),
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

/// Days that differ in nothing else, at least this many at one distance, are told as one.
const TOGETHER: usize = 3;

/// Rows of a table of days: what comes again and again is one row, `7 to 31, every 3`.
fn days_together(days: &[(u32, Vec<String>)]) -> Vec<Vec<String>> {
    let mut out = Vec::new();
    let mut rest = days;
    while let Some(((day, cells), after)) = rest.split_first() {
        let gap = after.first().map_or(0, |(next, _)| next - day);
        let again = after.iter().zip(rest).take_while(|(next, before)| next.1 == *cells && next.0 == before.0 + gap);
        let count = 1 + again.count();
        let (together, others) = rest.split_at(if count < TOGETHER { 1 } else { count });
        let told = match together {
            [_, .., (last, _)] if gap == 1 => format!("{day} to {last}"),
            [_, .., (last, _)] => format!("{day} to {last}, every {gap}"),
            _ => day.to_string(),
        };
        out.push(std::iter::once(told).chain(cells.iter().cloned()).collect());
        rest = others;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::days_together;

    #[test]
    fn days_that_come_again_are_one_row() {
        let days = [(1, "a"), (2, "a"), (4, "b"), (7, "b"), (10, "b"), (12, "b"), (13, "c"), (14, "c"), (15, "c")];
        let told = days_together(&days.map(|(day, what)| (day, vec![what.to_owned()])));
        let told: Vec<String> = told.iter().map(|row| row.join(" ")).collect();
        assert_eq!(told, ["1 a", "2 a", "4 to 10, every 3 b", "12 b", "13 to 15 c"]);
    }
}
