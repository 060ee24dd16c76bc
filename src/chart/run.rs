//! The pictures of one run.

use super::{Bar, Bars, Line, Picture, Series};
use crate::engine::Outcome;
use crate::model::{Component, Plan, Variable};
use crate::results::{Cause, Meanwhile};
use crate::solutes::View;
use crate::units::{Shown, Volume};

/// Salinity, each solute, the level, and the flows of water and salt by cause; each with a file name. Faults and periods
/// are shaded.
#[must_use]
pub fn pictures_of_run(
    plan: &Plan,
    outcome: &Outcome,
    start: &str,
    view: &View,
    meanwhile: &[Meanwhile],
) -> Vec<(String, Picture)> {
    let trace = &outcome.trace;
    let band = |of| plan.bands.iter().find(|b| b.of == of).map_or((None, None), |b| (b.low, b.high));
    let points =
        |column: &[f64]| -> Vec<(f64, f64)> { trace.time_d.iter().copied().zip(column.iter().copied()).collect() };
    let changes: Vec<f64> = outcome.events.iter().filter(|e| e.event == "change").map(|e| e.time_d).collect();
    let mut marks = marks(outcome);
    marks.extend(meanwhile.iter().map(|m| (m.from_d, m.what.clone())));
    let spans: Vec<(f64, f64)> = meanwhile.iter().map(|m| (m.from_d, m.to_d.unwrap_or(f64::INFINITY))).collect();
    let basis = plan.basis.key();
    let mut note = match (changes.len(), band(Variable::Salinity)) {
        (0, _) => format!("{basis} basis"),
        (1, _) => format!("{basis} basis; tick at the foot: a water change"),
        (n, _) => format!("{basis} basis; ticks at the foot: {n} water changes"),
    };
    if !spans.is_empty() {
        note += "; orange: a fault or a period";
    }
    let base = |title: String, y: &str, unit: &str| Series {
        title,
        note: note.clone(),
        x_label: format!("days from {start}"),
        y_label: format!("{y} [{unit}]"),
        unit: unit.to_owned(),
        ticks: changes.clone(),
        marks: marks.clone(),
        spans: spans.clone(),
        ..Series::default()
    };
    let mut pictures = Vec::new();

    let shown = view.of("salinity", "psu");
    let counted = band(Variable::Salinity);
    let edges = shown.edges(counted);
    let title = match edges {
        (None, None) => "How does the salinity move?".to_owned(),
        _ => format!("Does the salinity stay {}?", edges_in_words(counted, &shown)),
    };
    let mut series = base(title, "salinity", &shown.unit);
    series.band = edges;
    series.lines = vec![Line { label: "salinity".into(), points: shown.points(&points(&trace.salinity_psu)) }];
    pictures.push(("salinity".to_owned(), Picture::Series(series)));

    for ((i, species), column) in plan.species.each().zip(&trace.solutes) {
        let solute = &species.solute;
        let shown = view.of(&solute.key, solute.unit());
        let counted = band(Variable::Solute(i));
        let edges = shown.edges(counted);
        let name = solute.label.to_lowercase();
        let title = match edges {
            (None, None) => format!("Where does the {name} go?"),
            _ => format!("Does the {name} stay {}?", edges_in_words(counted, &shown)),
        };
        let mut series = base(title, &name, &shown.unit);
        series.band = edges;
        series.from_zero = edges.0.is_none();
        series.lines = vec![Line { label: solute.key.replace('_', " "), points: shown.points(&points(column)) }];
        pictures.push((solute.key.to_string(), Picture::Series(series)));
    }

    let shown = view.of("volume", "L");
    let mut series = base("How does the water level move?".into(), "system volume", &shown.unit);
    series.lines = vec![Line { label: "volume".into(), points: shown.points(&points(&trace.volume_l)) }];
    series.band = shown.edges((plan.tank.starve.map(Volume::litres), plan.tank.rim.map(Volume::litres)));
    if series.band != (None, None) {
        series.note += "; shaded: between the return pump's need and the rim";
    }
    pictures.push(("level".to_owned(), Picture::Series(series)));

    pictures.extend(by_cause(plan, outcome, basis, view));
    pictures
}

/// Flows of water and of salt by their causes; of alkalinity too, where it is tracked, as what each cause would move the
/// whole system by.
fn by_cause(plan: &Plan, outcome: &Outcome, basis: &str, view: &View) -> Vec<(String, Picture)> {
    let picture = |column: usize, what: &str, per: f64, shown: Shown| {
        let bars = outcome
            .ledger
            .causes()
            .into_iter()
            .filter(|c| !matches!(c, Cause::Start | Cause::End))
            .map(|c| Bar {
                label: c.key().replace('-', " "),
                amount: shown.step(per * outcome.ledger.amount(c, column)),
                other: None,
            })
            .filter(|b| b.amount.abs() > 1e-9)
            .collect();
        let picture = Bars {
            title: format!("What brought the {what} in and out?"),
            note: format!(
                "whole run of {} d, {basis} basis; inflow to the right",
                crate::units::trimmed(outcome.days, 1)
            ),
            unit: shown.unit,
            bars,
        };
        (format!("{what}_by_cause"), Picture::Bars(picture))
    };
    let mut pictures = vec![
        picture(Component::Water.place(), "water", 1.0, view.of("mass", "kg")),
        picture(Component::Salt.place(), "salt", 1.0, view.of("mass", "kg")),
    ];
    if let Some(i) = plan.solute("alkalinity") {
        let per = 1.0 / plan.tank.operating.litres();
        let shown = view.of("alkalinity", plan.species[i].solute.unit());
        pictures.push(picture(Component::Solute(i).place(), "alkalinity", per, shown));
    }
    pictures
}

/// Instants that a reader must not miss.
fn marks(outcome: &Outcome) -> Vec<(f64, String)> {
    let tally = &outcome.tally;
    [
        (tally.reservoir_dry_d, "reservoir dry"),
        (tally.starved_d, "return pump starves"),
        (tally.spilled_d, "spill"),
        (tally.empty_d, "tank all but empty"),
    ]
    .into_iter()
    .filter_map(|(at, name)| at.map(|t| (t, name.to_owned())))
    .collect()
}

fn edges_in_words((low, high): (Option<f64>, Option<f64>), shown: &Shown) -> String {
    let number = |v: f64| shown.number(v, 4);
    match (low, high) {
        (Some(low), Some(high)) => format!("between {} and {} {}", number(low), number(high), shown.unit),
        (Some(low), None) => format!("above {} {}", number(low), shown.unit),
        (None, Some(high)) => format!("below {} {}", number(high), shown.unit),
        (None, None) => String::new(),
    }
}
