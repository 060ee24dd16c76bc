//! A choice in words and in a picture.

use super::request::ChooseRequest;
use crate::app::sweep::label;
use crate::chart::{Picture, Point, PointKind, Scatter};
use crate::results::{Candidate, Choice, Warning};
use crate::scenario::Scenario;
use crate::solutes::View;
use crate::study::KeyRange;
use crate::units::trimmed;

fn regime(candidate: &Candidate, ranges: &[KeyRange]) -> String {
    let parts: Vec<String> = ranges.iter().zip(&candidate.values).map(|(r, v)| format!("{} = {v}", r.key)).collect();
    parts.join(", ")
}

pub(super) fn sentence(
    candidates: &[Candidate],
    ranges: &[KeyRange],
    request: &ChooseRequest,
    best: Option<usize>,
    nearest: Option<usize>,
    scenario: &Scenario,
) -> String {
    let least = request.least;
    if let Some(best) = best {
        let c = &candidates[best];
        let sure = match c.chance {
            Some((chance, error)) => {
                format!(", with a chance of {} ± {} %", trimmed(100.0 * chance, 1), trimmed(100.0 * error, 1))
            }
            None => String::new(),
        };
        return format!(
            "{} takes least: {}; every band is kept{sure}, {} nearest to its edge ({} % of the way).",
            regime(c, ranges),
            scenario.view().say("", least.of(c).unwrap_or(f64::NAN), &least.unit(&scenario.plan), 3),
            c.tightest,
            trimmed(100.0 * c.band_use, 0)
        );
    }
    match nearest {
        Some(nearest) => {
            let c = &candidates[nearest];
            let chance = c.chance.map_or(String::new(), |(p, e)| {
                format!(
                    " (it keeps every band with a chance of {} ± {} %)",
                    trimmed(100.0 * p, 1),
                    trimmed(100.0 * e, 1)
                )
            });
            let how = if c.keeps { "with the chance that was asked for" } else { "" };
            format!(
                "No regime within these ranges keeps every band{}{how}; the nearest is {}, with {} at {} % of the way to its edge{chance}.",
                if how.is_empty() { "" } else { " " },
                regime(c, ranges),
                c.tightest,
                trimmed(100.0 * c.band_use, 0)
            )
        }
        None => "No regime within these ranges could be judged.".into(),
    }
}

pub(super) fn warnings(candidates: &[Candidate]) -> Vec<Warning> {
    let mut why: Vec<&String> = candidates.iter().filter_map(|c| c.failed.as_ref()).collect();
    let count = why.len();
    why.sort();
    why.dedup();
    why.into_iter()
        .map(|why| {
            Warning::new(
                "not-judged",
                format!("{count} candidates could not be judged: {why}"),
                "the choice needs a regime that repeats; use intervals of whole days, no readings with corrections, and for a season --set evaporation.swing=0%",
            )
        })
        .collect()
}

pub(super) fn picture(choice: &Choice, ranges: &[KeyRange], view: &View) -> Picture {
    let shown = view.units.shown(&choice.unit);
    // Litres may be shown as gallons.
    let what = if choice.least == "litres" { "salt water" } else { &choice.least };
    let least = match choice.least.as_str() {
        "litres" => |c: &Candidate| c.litres,
        "salt" => |c: &Candidate| c.salt_kg,
        "cost" => |c: &Candidate| c.cost.unwrap_or(f64::NAN),
        _ => |c: &Candidate| c.minutes,
    };
    let points = choice
        .candidates
        .iter()
        .enumerate()
        .filter(|(_, c)| c.failed.is_none())
        .map(|(i, c)| {
            let chosen = Some(i) == choice.best || Some(i) == choice.nearest;
            Point {
                at: (shown.value(least(c)), (100.0 * c.band_use).min(MOST_SHOWN)),
                kind: match (chosen, c.on_front) {
                    (true, _) => PointKind::Chosen,
                    (false, true) => PointKind::Front,
                    _ => PointKind::Other,
                },
                label: if chosen { c.values.join(", ") } else { String::new() },
            }
        })
        .collect();
    let keys: Vec<String> = ranges.iter().map(|r| label(&r.key, &r.unit)).collect();
    Picture::Scatter(Scatter {
        title: format!("What does staying in the bands take, in {what}?"),
        note: format!(
            "{}, {} basis; each point a regime of {}; blue: no other takes less and stays farther from the edge",
            choice.scenario,
            choice.basis,
            keys.join(" and ")
        ),
        x_label: format!("{what} [{}]", shown.unit),
        y_label: "use of the tightest band [%]".into(),
        points,
        limit: Some((100.0, "edge of the band".into())),
    })
}

/// Uses of a band beyond this \[%\] are drawn at the top.
const MOST_SHOWN: f64 = 300.0;
