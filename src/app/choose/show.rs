//! A choice in words and in a picture.

use super::request::ChooseRequest;
use crate::app::edges::key_words;
use crate::chart::{Head, Picture, Point, PointKind, Scatter};
use crate::results::{Candidate, Choice, KeptChance, Warning, spoken};
use crate::scenario::Scenario;
use crate::solutes::View;
use crate::study::KeyRange;
use crate::units::{Shown, number_with_unit, significant, trimmed};

/// A value as a reader wants it: no more digits than it has meaning.
pub(super) fn short(value: &str) -> String {
    match number_with_unit(value) {
        Ok((number, unit)) => format!("{} {unit}", significant(number, 3)).trim_end().to_owned(),
        Err(_) => value.to_owned(),
    }
}

/// The regime of a candidate in words: `12 % every 4 d`, or its keys and values.
pub(super) fn regime(candidate: &Candidate, ranges: &[KeyRange]) -> String {
    let value = |key: &str| ranges.iter().position(|r| r.key == key).and_then(|k| candidate.values.get(k));
    if let (2, Some(every), Some(amount)) = (ranges.len(), value("change.every"), value("change.amount")) {
        return format!("{} every {}", short(amount), short(every));
    }
    let parts: Vec<String> =
        ranges.iter().zip(&candidate.values).map(|(r, v)| format!("{} = {}", r.key, short(v))).collect();
    parts.join(", ")
}

fn percent(chance: &KeptChance) -> String {
    let [value, least] = [chance.value, chance.at_least].map(|p| trimmed(100.0 * p, 1));
    format!("{value} % (at least {least} %)")
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
            "Best: {}, {}. Once settled, it keeps every band{sure}. Nearest to its limit: {}, at {} % of it.",
            regime(c, ranges),
            scenario.view().say("", least.of(c).unwrap_or(f64::NAN), &least.unit(&scenario.plan), 3),
            spoken(&c.tightest),
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
            let how = if c.keeps { " with the chance that was asked for" } else { "" };
            format!(
                "No plan in these ranges keeps every band{how}. The nearest is {}, with {} at {} % of its band{chance}.",
                regime(c, ranges),
                spoken(&c.tightest),
                trimmed(100.0 * c.band_use, 0)
            )
        }
        None => "No plan in these ranges could be judged.".into(),
    }
}

/// What to doubt about a choice.
pub(super) fn doubts(
    candidates: &[Candidate],
    ranges: &[KeyRange],
    points: &[Vec<usize>],
    request: &ChooseRequest,
    best: Option<usize>,
    once: Option<&str>,
) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if request.uncertainty.is_none() && request.worth {
        warnings.push(Warning::new(
            "nothing-uncertain",
            "nothing is uncertain here, so a chance, a span and a reading have no meaning",
            "say what is uncertain: --spread, --missed, --batch-error, or a table [uncertainty]",
        ));
    }
    if !request.uncertainty.is_none() && best.is_none() && candidates.iter().any(|c| c.keeps) {
        warnings.push(Warning::new(
            "not-confirmed",
            format!(
                "some plans keep the bands when nothing varies, but none of the {} cheapest does so with a chance of {} %",
                candidates.iter().filter(|c| c.chance.is_some()).count(),
                trimmed(100.0 * request.chance, 1)
            ),
            "accept a lower chance, widen the ranges, or reduce what is uncertain",
        ));
    }
    if let Some(tight) = best.map(|b| candidates[b].band_use).filter(|u| request.uncertainty.is_none() && *u > SPARE) {
        warnings.push(Warning::new(
            "nothing-to-spare",
            format!("this plan uses {} % of its band: a small meter error or one missed change leaves it", trimmed(100.0 * tight, 0)),
            "narrow the band by your meter's error, or say what is uncertain (--missed, --batch-error) and ask for a --chance",
        ));
    }
    let short = candidates.iter().filter(|c| c.chance.is_some_and(|k| !k.enough && k.value >= request.chance)).count();
    if short > 0 {
        warnings.push(Warning::new(
            "not-sure-enough",
            format!(
                "{} keep the bands with {} %, but {} members are too few to be sure",
                if short == 1 { "1 plan may".to_owned() } else { format!("{short} plans may") },
                trimmed(100.0 * request.chance, 1),
                request.members
            ),
            format!("use more members, as in --members {}: a cheaper plan may be among them", 4 * request.members),
        ));
    }
    if let Some(period) = once {
        warnings.push(Warning::new(
            "period-not-judged",
            format!(
                "plans are judged by the cycle they settle to; the period {} happens once and is not in it",
                period.replace('_', " ")
            ),
            "check the plan with brinecast run",
        ));
    }
    if let Some(best) = best {
        let at_edge: Vec<&str> = ranges
            .iter()
            .zip(&points[best])
            // Of two values each is an edge.
            .filter(|(range, _)| range.values.len() > 2)
            .filter(|(range, place)| **place == 0 || **place + 1 == range.values.len())
            .map(|(range, _)| &*range.key)
            .collect();
        if !at_edge.is_empty() {
            warnings.push(Warning::new(
                "at-the-edge",
                format!(
                    "the best plan is at the edge of the range of {}: a better one may lie beyond",
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
                format!("{count} plans could not be judged: {why}"),
                "use a plan that repeats: intervals of whole days, no corrections by readings; for a season, --set evaporation.swing=0%",
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
            let named = if chosen { regime(c, ranges) } else { String::new() };
            Point {
                at: (shown.value(least(c)), (100.0 * c.band_use).min(MOST_SHOWN)),
                kind: match (chosen, c.on_front) {
                    (true, _) => PointKind::Chosen,
                    (false, true) => PointKind::Front,
                    (false, false) => PointKind::Other,
                },
                refused: !chosen && c.chance.is_some_and(|k| !k.enough),
                label: named,
            }
        })
        .collect();
    let keys: Vec<String> = ranges.iter().map(|r| key_words(&r.key)).collect();
    let refused = choice.candidates.iter().any(|c| c.chance.is_some_and(|k| !k.enough));
    let refused = if refused { "; grey crosses: kept too seldom" } else { "" };
    Picture::Scatter(Scatter {
        head: Head {
            finding: found(choice, ranges, &shown, &least, what),
            question: format!("What does staying in the bands take, in {what}?"),
            note: format!(
                "{}, {} basis; each point is a plan of {}; blue: no plan takes less and is safer; uses above 300 % are drawn at 300{refused}",
                choice.scenario,
                choice.basis,
                keys.join(" and ")
            ),
        },
        x_label: format!("{what}, {} a year", shown.unit.trim_end_matches("/year")),
        y_label: "use of the tightest band, % (100: at its edge)".into(),
        points,
        limit: Some((100.0, "edge of the band".into())),
    })
}

/// What was found, and how many plans were refused by chance.
fn found(choice: &Choice, ranges: &[KeyRange], shown: &Shown, least: &dyn Fn(&Candidate) -> f64, what: &str) -> String {
    let refused = choice.candidates.iter().filter(|c| c.keeps && c.chance.is_some_and(|k| !k.enough)).count();
    let refused = match refused {
        0 => String::new(),
        n => format!("; of those that keep the bands on paper, {n} keep them too seldom"),
    };
    match choice.best.map(|best| &choice.candidates[best]) {
        Some(c) => format!(
            "Of the plans that keep every band, {} takes the least {what}: {} {}{refused}",
            regime(c, ranges),
            significant(shown.value(least(c)), 3),
            shown.unit
        ),
        None => format!("No plan of {} keeps every band{refused}", choice.candidates.len()),
    }
}

/// Uses of a band beyond this \[%\] are drawn at the top.
const MOST_SHOWN: f64 = 300.0;
