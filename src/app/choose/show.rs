//! A choice in words and in a picture.

use super::request::ChooseRequest;
use crate::app::sweep::label;
use crate::chart::{Picture, Point, PointKind, Scatter};
use crate::results::{Candidate, Choice, KeptChance, Warning};
use crate::scenario::Scenario;
use crate::solutes::View;
use crate::study::KeyRange;
use crate::units::trimmed;

fn regime(candidate: &Candidate, ranges: &[KeyRange]) -> String {
    let parts: Vec<String> = ranges.iter().zip(&candidate.values).map(|(r, v)| format!("{} = {v}", r.key)).collect();
    parts.join(", ")
}

/// A chance with the bound on which it was judged.
fn percent(chance: &KeptChance) -> String {
    let [value, least] = [chance.value, chance.at_least].map(|p| trimmed(100.0 * p, 1));
    format!("{value} % ({least} % at least)")
}

/// A span in words.
pub(in crate::app) fn span_words(days: f64) -> String {
    if (364.0..=366.0).contains(&days) { "a year".into() } else { format!("{} d", trimmed(days, 1)) }
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
            Some(chance) => {
                format!(" for {} with a chance of {}", span_words(request.span_d), percent(&chance))
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
            let chance = c.chance.map_or(String::new(), |chance| {
                format!(
                    " (it keeps every band for {} with a chance of {})",
                    span_words(request.span_d),
                    percent(&chance)
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

/// What to doubt about a choice.
pub(super) fn doubts(
    candidates: &[Candidate],
    ranges: &[KeyRange],
    points: &[Vec<usize>],
    request: &ChooseRequest,
    best: Option<usize>,
) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if request.uncertainty.is_none() && request.worth {
        warnings.push(Warning::new(
            "nothing-uncertain",
            "nothing is uncertain here, so no reading is worth anything, and a chance and its span have no part",
            "say what is uncertain: --spread, --missed, --batch-error, or a table [uncertainty]",
        ));
    }
    if !request.uncertainty.is_none() && best.is_none() && candidates.iter().any(|c| c.keeps) {
        warnings.push(Warning::new(
            "not-confirmed",
            format!(
                "some regimes keep the bands when nothing varies, but none of the {} that take least does with a chance of {} %",
                candidates.iter().filter(|c| c.chance.is_some()).count(),
                trimmed(100.0 * request.chance, 1)
            ),
            "ask for a smaller chance, widen the ranges, or narrow what is uncertain",
        ));
    }
    if let Some(tight) = best.map(|b| candidates[b].band_use).filter(|u| request.uncertainty.is_none() && *u > SPARE) {
        warnings.push(Warning::new(
            "nothing-to-spare",
            format!("the regime chosen uses {} % of its band: a meter that is a little off, or one missed change, leaves it", trimmed(100.0 * tight, 0)),
            "narrow the band by what your meter may be off, or say what is uncertain (--missed, --batch-error) and ask for a --chance",
        ));
    }
    let short = candidates.iter().filter(|c| c.chance.is_some_and(|k| !k.enough && k.value >= request.chance)).count();
    if short > 0 {
        warnings.push(Warning::new(
            "not-sure-enough",
            format!(
                "{short} regimes seem to keep the bands with {} %, but {} members cannot make sure of it, so they are not taken",
                trimmed(100.0 * request.chance, 1),
                request.members
            ),
            format!("take more members, as in --members {}: one that takes less may be among them", 4 * request.members),
        ));
    }
    if let Some(best) = best {
        let at_edge: Vec<&str> = ranges
            .iter()
            .zip(&points[best])
            .filter(|(range, place)| **place == 0 || **place + 1 == range.values.len())
            .map(|(range, _)| &*range.key)
            .collect();
        if !at_edge.is_empty() {
            warnings.push(Warning::new(
                "at-the-edge",
                format!(
                    "the best lies at the edge of what was tried of {}: beyond it may be one that takes less",
                    at_edge.join(" and ")
                ),
                "widen the range",
            ));
        }
    }
    warnings
}

/// Use of the band above which next to nothing is left for what is not reckoned with.
const SPARE: f64 = 0.95;

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
                    (false, false) => PointKind::Other,
                },
                refused: !chosen && c.chance.is_some_and(|k| !k.enough),
                label: if chosen { c.values.join(", ") } else { String::new() },
            }
        })
        .collect();
    let keys: Vec<String> = ranges.iter().map(|r| label(&r.key, &r.unit)).collect();
    let refused = choice.candidates.iter().any(|c| c.chance.is_some_and(|k| !k.enough));
    let refused = if refused { "; crossed out: kept too seldom" } else { "" };
    Picture::Scatter(Scatter {
        title: format!("What does staying in the bands take, in {what}?"),
        note: format!(
            "{}, {} basis; a point a regime of {}; blue: none takes less and is safer{refused}",
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
