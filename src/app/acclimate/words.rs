//! The answer of `acclimate` in words.

use super::answer::AcclimateAnswer;
use crate::app::answer::answers_itself;
use crate::results::{Action, Caution, Report};
use crate::solutes::View;
use crate::units::{Duration, InUnits, Volume, significant};

answers_itself!(AcclimateAnswer, View, "acclimate", told);

fn told(a: &AcclimateAnswer, view: &View) -> Report {
    let units = view.units;
    let shown = view.of("salinity", "psu");
    let litres = |l: f64| Volume::from_litres(l).show(units);
    let [from, to] = [a.from_psu, a.to_psu].map(|psu| shown.number(psu, 4));
    let between = format!("From {from} to {to} {} in {}", shown.unit, litres(a.vessel_l));
    let report = Report {
        title: "Acclimation".into(),
        warnings: a.warnings.clone(),
        caution: Some(Caution::Animals),
        cautions: a.cautions.clone(),
        ..Report::default()
    };
    if a.hours == 0.0 {
        return Report { answer: format!("{between}: close enough as it is."), ..report };
    }
    let mut todo = vec![Action::new(format!(
        "Drip {} mL of tank water a minute, {} drops a second (20 in a mL).",
        significant(1e3 * a.flow_l_per_h / 60.0, 2),
        significant(a.drops_per_s, 2)
    ))];
    match a.rounds {
        0 => {}
        1 => todo.push(Action::new("When the water has doubled, pour half off, once.")),
        n => todo.push(Action::new(format!("Whenever the water has doubled, pour half off: {n} times."))),
    }
    todo.push(Action::new("Read the salinity before you move the animals; keep the vessel warm, dark and aerated."));
    Report {
        answer: format!(
            "{between}: it takes {} and {} of tank water.",
            Duration::from_days(a.hours / 24.0).show(units),
            litres(a.litres)
        ),
        todo,
        in_turn: true,
        ..report
    }
}
