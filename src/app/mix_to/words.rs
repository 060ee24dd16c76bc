//! The answer of `mix-to` in words.

use super::answer::{MixToAnswer, MixToLine};
use crate::app::Loaded;
use crate::app::answer::answers_itself;
use crate::app::report::on_scenario;
use crate::results::{Action, Report, ReportPart, spoken};
use crate::units::significant;

answers_itself!(MixToAnswer, Loaded, "mix-to", told);

/// Grams in a litre that are worth weighing.
const A_PINCH_G_PER_L: f64 = 0.002;

fn told(answer: &MixToAnswer, loaded: &Loaded) -> Report {
    // A target that was typed on another scale is answered on it.
    let view = answer.meter.as_ref().map_or_else(|| loaded.scenario.view(), |m| m.view(loaded.scenario.view()));
    let number = |line: &MixToLine, v: f64| view.of(&line.key, &line.unit).number(v, 4);
    let mut todo = Vec::new();
    for line in &answer.lines {
        let shown = view.of(&line.key, &line.unit);
        let mix = format!("{} {}", number(line, line.mix_to), shown.unit);
        let water = spoken(&answer.water);
        match (line.mix_brings, line.soda_g_per_l) {
            _ if line.key == "salinity" => todo.push(Action::new(format!("Mix {water} to {mix}."))),
            (Some(brings), Some(grams)) if grams >= A_PINCH_G_PER_L => todo.push(Action::new(format!(
                "Bring its {} to {mix}: the mix brings {}; add {} g of NaHCO3 to each litre, or as much by another way.",
                spoken(&line.key),
                number(line, brings),
                significant(grams, 2)
            ))),
            // No mix is made weaker in one thing alone.
            (Some(brings), _) if line.mix_to < 0.98 * brings => todo.push(Action::new(format!(
                "Dose less {}: new water cannot be mixed to {mix}, because the mix brings {}.",
                spoken(&line.key),
                number(line, brings)
            ))),
            (Some(_), _) => {}
            (None, _) => todo.push(Action::new(format!("Bring its {} to {mix}.", spoken(&line.key)))),
        }
    }
    let rows = answer.lines.iter().map(|line| {
        let shown = view.of(&line.key, &line.unit);
        let cells = [line.settles_as_is, line.target, line.mix_to];
        let mut row = vec![spoken(&line.key)];
        row.extend(cells.map(|v| number(line, v)));
        row.push(line.mix_brings.map_or("-".into(), |v| number(line, v)));
        row.push(shown.unit);
        row
    });
    let head = ["", "settles at", "wanted", "mix to", "the mix brings", ""];
    let first = answer.lines.first();
    let answered = first.map_or(String::new(), |line| {
        let shown = view.of(&line.key, &line.unit);
        format!(
            "{} settles near {} {unit} as it is; {} {unit} is wanted.",
            crate::results::spoken_first(&line.key),
            number(line, line.settles_as_is),
            number(line, line.target),
            unit = shown.unit
        )
    });
    Report {
        answer: answered,
        todo,
        numbers: vec![ReportPart::table("What to mix to, and where the tank settles", &head, rows.collect())],
        warnings: answer.warnings.clone(),
        cautions: answer.cautions.clone(),
        ..on_scenario(loaded, "what to mix to", None)
    }
}
