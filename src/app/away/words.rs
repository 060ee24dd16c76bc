//! The answer of `away` in words.

use super::answer::AwayResult;
use crate::app::away::answer::AwayAnswer;
use crate::app::report::on_scenario;
use crate::app::{Answer, Loaded};
use crate::chart::Picture;
use crate::model::Dose;
use crate::results::{Action, Caution, Report, ReportPart, ReportSection, as_sentence};
use crate::study::goes_on;
use crate::units::trimmed;

impl Answer for AwayResult {
    type Of = Loaded;
    type Data = AwayAnswer;

    const COMMAND: &'static str = "away";

    fn data(&self) -> &AwayAnswer {
        &self.answer
    }

    fn told(&self, of: &Loaded) -> Report {
        told(&self.answer, of)
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }
}

/// What is taken to go on, and which doses are not, where there are any.
fn left_on(loaded: &Loaded) -> Option<String> {
    let regime = &loaded.scenario.plan.regime;
    let (on, stop): (Vec<&Dose>, Vec<&Dose>) = regime.doses.iter().partition(|dose| goes_on(dose));
    let name = |name: &str| name.replace('_', " ");
    let mut on: Vec<String> = on.iter().map(|dose| name(&dose.name)).collect();
    on.extend(regime.dosing.iter().map(|dosing| name(&dosing.name)));
    on.extend(regime.feed.iter().any(|amount| *amount > 0.0).then(|| "feeding".to_owned()));
    on.extend(regime.exchange.is_some().then(|| "continuous exchange".to_owned()));
    let stop: Vec<String> = stop.iter().map(|dose| name(&dose.name)).collect();
    let said = [
        (!on.is_empty()).then(|| format!("Counted as going on, as if by a pump or a feeder: {}.", on.join(", "))),
        (!stop.is_empty()).then(|| format!("Counted as not given while nobody is there: {}.", stop.join(", "))),
    ];
    let said: Vec<String> = said.into_iter().flatten().collect();
    (!said.is_empty()).then(|| said.join(" "))
}

/// Rows of the short tables.
const MOST_ROWS: usize = 7;

fn told(a: &AwayAnswer, loaded: &Loaded) -> Report {
    let days = |d: &Option<f64>| d.map_or("longer".to_owned(), |d| format!("{} d", trimmed(d, 1)));
    let percent = |share: f64| format!("{} %", trimmed(100.0 * share, 1));
    let events: Vec<Vec<String>> = a
        .events
        .iter()
        .filter(|e| e.chance > 0.0 || e.sure_d.iter().any(Option::is_some))
        .map(|e| {
            let sure = e.sure_d.iter().map(days);
            [e.what.clone(), percent(e.chance)].into_iter().chain(sure).collect()
        })
        .collect();
    let caption =
        format!("Chance within {} days, and for how long you can be sure that it does not happen", trimmed(a.days, 1));
    let head = ["", "chance", "50 % sure", "90 % sure", "99 % sure"];
    let remedies = a.remedies.iter().map(|r| vec![r.what.clone(), percent(r.chance)]).collect();
    // Where nothing may happen there is nothing to list.
    let may_happen = !events.is_empty();
    let mut numbers = Vec::new();
    numbers.extend(may_happen.then(|| ReportPart::captioned(&caption, &head, events).first(MOST_ROWS)));
    numbers.extend(left_on(loaded).map(ReportPart::Text));
    if !a.safe {
        numbers.push(
            ReportPart::captioned(
                "What helps: chance that anything happens, if done before leaving",
                &["", "chance"],
                remedies,
            )
            .first(MOST_ROWS),
        );
    }
    let litres = loaded.scenario.units.shown("L");
    let reservoirs = a.reservoirs.iter().map(|r| {
        vec![
            litres.number(r.litres, 3),
            r.lasts_d.map_or("longer".into(), |d| trimmed(d, 1)),
            trimmed(r.fall_psu, 2),
            trimmed(litres.value(r.spill_l), 1),
        ]
    });
    let head = [
        format!("reservoir [{}]", litres.unit),
        "lasts, 90 % sure [d]".into(),
        "drop if the valve sticks [psu]".into(),
        format!("spill [{}]", litres.unit),
    ];
    let mut rest = vec![ReportPart::Text(format!("Uncertain: {}.", a.uncertain.join("; ")))];
    if !a.reservoirs.is_empty() {
        let head: Vec<&str> = head.iter().map(String::as_str).collect();
        rest.push(ReportPart::captioned("How large a reservoir", &head, reservoirs.collect()));
    }
    let report = on_scenario(loaded, "left alone", Some(a.seed));
    Report {
        about: format!("{} days · {} members", trimmed(a.days, 1), a.members),
        verdict: Some(a.safe),
        answer: a.answer.clone(),
        todo: if a.safe { Vec::new() } else { vec![Action::new(as_sentence(&a.recommended))] },
        numbers,
        sections: vec![ReportSection::new("The reservoir", rest)],
        warnings: a.warnings.clone(),
        caution: Some(Caution::Flooding),
        cautions: a.cautions.clone(),
        ..report
    }
}
