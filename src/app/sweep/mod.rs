//! `sweep`: one or two keys over ranges, any measures; a line chart or a map, and a table.

mod answer;
mod pictures;
mod words;

pub use answer::SweepResult;

use pictures::Lines;
use rayon::prelude::*;

use crate::app::edges::{edges, room};
use crate::app::{AppError, Loaded, water, within_reach};
use crate::model::Plan;
use crate::results::{Sweep, Warning};
use crate::study::{Going, KeyRange, Measure, MeasureError, evaluate, usual_measures};

/// Most plans of one sweep.
const MOST_PLANS: usize = 40_000;

/// Sweeps one or two keys.
pub fn sweep(loaded: &Loaded, over: &[String], measures: &[String], going: Going<'_>) -> Result<SweepResult, AppError> {
    let usage = |e: &dyn std::fmt::Display| AppError::Usage(e.to_string());
    let ranges: Vec<KeyRange> =
        over.iter().map(|t| KeyRange::parse(t)).collect::<Result<_, _>>().map_err(|e| usage(&e))?;
    if !(1..=2).contains(&ranges.len()) {
        return Err(usage(&"sweep one or two keys, as in --over change.every=3d..28d:6"));
    }
    let names = if measures.is_empty() { usual_measures(&loaded.scenario.plan) } else { measures.to_vec() };
    let parsed: Vec<Measure> =
        names.iter().map(|t| Measure::parse(t)).collect::<Result<_, _>>().map_err(|e| usage(&e))?;
    let units: Vec<String> = parsed
        .iter()
        .map(|m| m.unit(&loaded.scenario.plan).map(str::to_owned))
        .collect::<Result<_, MeasureError>>()
        .map_err(|e| usage(&e))?;
    let points = product(&ranges);
    if points.len() > MOST_PLANS {
        return Err(usage(&format!("{} plans are too many: at most {MOST_PLANS}", points.len())));
    }
    let varying = loaded.varying(ranges.iter().map(|r| &*r.key));
    let plans: Vec<Plan> =
        points.par_iter().map(|point| varying.plan(&sets(&ranges, point))).collect::<Result<_, _>>()?;
    within_reach(plans.iter().map(|p| (p.work(), 1.0)))?;
    let edges = edges(&loaded.scenario.plan, parsed.iter().any(Measure::is_settled));
    let all: Vec<Measure> = parsed.iter().chain(edges.iter().map(|e| &e.measure)).cloned().collect();
    let grid = evaluate(&plans, &all, going).ok_or(AppError::Stopped)?;
    let mut missing: Vec<String> = grid
        .rows
        .iter()
        .flat_map(|row| &row[..parsed.len()])
        .filter_map(|v| v.as_ref().err())
        .map(ToString::to_string)
        .collect();
    missing.sort();
    missing.dedup();
    let rows: Vec<Vec<Option<f64>>> =
        grid.rows.into_iter().map(|row| row.into_iter().map(Result::ok).collect()).collect();
    let of_edges: Vec<Vec<Option<f64>>> = rows.iter().map(|row| row[parsed.len()..].to_vec()).collect();
    let rooms: Vec<Option<f64>> = of_edges.iter().map(|row| room(&edges, row)).collect();
    let sweep = Sweep {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: loaded.scenario.name.clone(),
        basis: loaded.scenario.plan.basis.key().into(),
        keys: ranges.iter().map(|r| r.key.clone()).collect(),
        key_units: ranges.iter().map(|r| r.unit.clone()).collect(),
        measures: names,
        measure_units: units,
        points: points.iter().map(|p| p.iter().zip(&ranges).map(|(i, r)| r.numbers[*i]).collect()).collect(),
        values: rows.into_iter().map(|row| row[..parsed.len()].to_vec()).collect(),
        bands_kept: rooms.iter().map(|room| room.map(|room| room >= 0.0)).collect(),
        warnings: missing
            .into_iter()
            .map(|why| {
                let advice = if why.contains("price") {
                    "set a price: --set \"costs.salt=3.5 EUR/kg\""
                } else {
                    "narrow the range, or measure the run instead of the settled cycle"
                };
                Warning::new("no-value", format!("some points have no value: {why}"), advice)
            })
            .chain(water::of_plans(&plans.par_iter().filter_map(water::tally_of).collect::<Vec<_>>()))
            .collect(),
    };
    let lines = Lines { edges: &edges, of_edges: &of_edges, rooms: &rooms, plans: &plans };
    let pictures = pictures::pictures(&sweep, &parsed, &ranges, loaded, &lines);
    Ok(SweepResult { sweep, pictures })
}

/// Every combination, the last key fastest.
pub(super) fn product(ranges: &[KeyRange]) -> Vec<Vec<usize>> {
    ranges.iter().fold(vec![Vec::new()], |points, range| {
        points
            .into_iter()
            .flat_map(|point| (0..range.values.len()).map(move |i| [point.clone(), vec![i]].concat()))
            .collect()
    })
}

/// The overrides of a point.
pub(super) fn sets(ranges: &[KeyRange], point: &[usize]) -> Vec<String> {
    ranges.iter().zip(point).map(|(range, i)| format!("{}={}", range.key, range.values[*i])).collect()
}

/// `settled.nitrate.peak` in words.
pub(super) fn words(measure: &str) -> String {
    let parts: Vec<&str> = measure.split('.').collect();
    match parts.as_slice() {
        ["settled", q, s] => format!("the settled {s} of {q}"),
        ["litres"] => "the salt water used".to_owned(),
        ["outside", q] => format!("the time of {q} outside its band"),
        [q, s] => format!("the {s} of {q}"),
        _ => measure.to_owned(),
    }
}
