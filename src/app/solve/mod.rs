//! `solve`: the value of one key with which a measure meets a target, or bands are just kept.

mod answer;
mod goal;
mod whole;
mod words;

pub use answer::{SolveAnswer, SolveResult, SolvedValue};

use crate::app::edges::{axis_words, key_words};
use crate::app::sweep::words as measure_words;
use crate::app::{AppError, Loaded, water, within_reach};
use crate::chart::{Head, Line, Picture, Series};
use crate::numerics::Elementary;
use crate::results::{Warning, capitalised, spoken_first};
use crate::study::{Going, KeyRange, Root, Roots, each_in_parallel, roots};
use crate::units::{number_with_unit, significant};
use goal::Goal;

/// Values that are looked at before roots are narrowed down.
const POINTS: usize = 33;

/// How far a range goes to either side of the scenario's own value where none is given.
const TIMES: f64 = 8.0;

/// Digits of a value as it is written.
const DIGITS: i32 = 4;

/// Looks for the values of a key with which something is so.
pub fn solve(loaded: &Loaded, key: &str, so_that: &str, going: Going<'_>) -> Result<SolveResult, AppError> {
    let range = range_of(loaded, key)?;
    let (range, in_days) = match whole::days(&range).filter(|_| !counted(key)) {
        Some(days) => (KeyRange::parse(&days).map_err(|e| AppError::Usage(e.to_string()))?, true),
        None => (range, false),
    };
    let goal = Goal::parse(so_that, loaded)?;
    let varying = loaded.varying([&*range.key]);
    let of = |x: f64| -> Result<f64, String> {
        let plan = varying.plan(&[written(&range, x)]).map_err(|e| e.to_string())?;
        goal.of(&plan)
    };
    within_reach([(loaded.scenario.plan.work(), 4.0 * range.numbers.len() as f64)])?;
    // A value that cannot be is a mistake where every value is, and else the end of what can be.
    let looked: Vec<Looked> = each_in_parallel(&range.numbers, going, |x| (*x, of(*x))).ok_or(AppError::Stopped)?;
    let points: Vec<(f64, Option<f64>)> = looked.iter().map(|(x, y)| (*x, y.as_ref().ok().copied())).collect();
    if points.iter().all(|(_, y)| y.is_none()) {
        let why = looked.into_iter().find_map(|(_, y)| y.err()).unwrap_or_default();
        return Err(AppError::Usage(format!("--for {key}: no value in this range can be looked at: {why}")));
    }
    let found = if in_days {
        Roots {
            met: whole::met(&points, goal.target()),
            jumps: whole::neighbours(&points, goal.target()),
            ..Roots::default()
        }
    } else {
        roots(&points, goal.target(), |x| of(x).ok())
    };
    let solved = |root: &Root| solved_value(&range, &goal, root, &of);
    let (met, jumps): (Vec<_>, Vec<_>) =
        (found.met.iter().map(solved).collect(), found.jumps.iter().map(solved).collect());
    let kept = match &goal {
        Goal::Meets { .. } => found.throughout.iter().map(|(a, b)| [*a, *b]).collect(),
        Goal::Keeps { .. } if in_days => kept_ranges(&points, &[], &[]),
        Goal::Keeps { .. } => kept_ranges(&points, &found.met, &found.jumps),
    };
    let (measure, unit) = goal.measured();
    let scale = if matches!(goal, Goal::Keeps { .. }) { 100.0 } else { 1.0 };
    let mut warnings = without_value(&looked);
    // At the value that is found, or at the inner end of those that will do; where there is none, as the file stands.
    let inner = |[low, high]: &[f64; 2]| if Some(high) == range.numbers.last() { *low } else { *high };
    let value = met.first().map(|v| format!("{}={}", range.key, v.written));
    let told = value.or_else(|| kept.first().map(|ends| written(&range, inner(ends))));
    let plan = varying.plan(&told.iter().cloned().collect::<Vec<_>>())?;
    warnings.extend(match (&told, &goal) {
        (Some(told), Goal::Keeps { .. }) => water::of_long_in_force(&plan, &loaded.scenario, told),
        (Some(told), Goal::Meets { .. }) => water::of_plan(&plan, &loaded.scenario, told),
        (None, _) => water::of_plan(&plan, &loaded.scenario, "as the file stands"),
    });
    let mut answer = SolveAnswer {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: loaded.scenario.name.clone(),
        basis: loaded.scenario.plan.basis.key().into(),
        key: range.key.clone(),
        key_unit: range.unit.clone(),
        goal: so_that.into(),
        measure: measure.into(),
        measure_unit: unit.into(),
        target: scale * goal.target(),
        answer: String::new(),
        met: met.into_iter().map(|v| v.scaled(scale)).collect(),
        jumps: jumps.into_iter().map(|v| v.scaled(scale)).collect(),
        kept,
        points: points.iter().map(|(x, y)| (*x, y.map(|y| scale * y))).collect(),
        warnings,
    };
    answer.answer = match (&goal, &answer.met[..], &answer.jumps[..]) {
        (Goal::Meets { name, .. }, [], [jump, ..]) if in_days => between_days(&answer, name, jump, loaded),
        _ => sentence(&answer, &goal, &range, loaded),
    };
    let pictures = vec![("solve".to_owned(), picture(&answer, loaded))];
    Ok(SolveResult { answer, pictures })
}

impl SolvedValue {
    fn scaled(self, by: f64) -> Self {
        Self {
            measured: by * self.measured,
            as_written: self.as_written.map(|v| by * v),
            for_a_percent_more: self.for_a_percent_more.map(|v| by * v),
            ..self
        }
    }
}

/// Whether a range says how many values, or which.
fn counted(key: &str) -> bool {
    key.contains(',') || key.rsplit("..").next().is_some_and(|to| to.contains(':'))
}

/// Where the target lies between two whole days.
fn between_days(a: &SolveAnswer, name: &str, jump: &SolvedValue, loaded: &Loaded) -> String {
    let view = loaded.scenario.view();
    let say = |v: f64| view.say(&a.measure, v, &a.measure_unit, 4);
    let at = |day: f64| a.points.iter().find(|p| p.0 == day).and_then(|p| p.1).map_or(String::new(), say);
    let [low, high] = jump.between;
    format!(
        "No whole number of days brings {} to {}: with {} of {low} d it is {}, with {high} d {}.",
        measure_words(name),
        say(a.target),
        a.key,
        at(low),
        at(high)
    )
}

/// The range that was asked for, or one around the scenario's own value.
fn range_of(loaded: &Loaded, key: &str) -> Result<KeyRange, AppError> {
    let usage = |e: &dyn std::fmt::Display| AppError::Usage(format!("--for {key}: {e}"));
    if key.contains('=') {
        let text = if key.contains("..") && !counted(key) { format!("{key}:{POINTS}") } else { key.to_owned() };
        return KeyRange::parse(&text).map_err(|e| usage(&e));
    }
    if let Some(usual) = whole::usual(key).filter(|_| loaded.document.given(key).is_none()) {
        return KeyRange::parse(&format!("{usual}:{POINTS}")).map_err(|e| usage(&e));
    }
    let given = loaded.document.given(key).ok_or_else(|| {
        usage(&format!(
            "the scenario gives no value to look around\n  = help: say a range, as in --for \"{key}=FROM..TO\""
        ))
    })?;
    let (value, unit) = number_with_unit(&given).map_err(|e| usage(&e))?;
    if value <= 0.0 {
        return Err(usage(&format!(
            "around {given} there is no range\n  = help: say one, as in --for \"{key}=FROM..TO\""
        )));
    }
    // A share has no more than all of it.
    let most = match unit {
        "%" => (TIMES * value).min(95.0),
        // The practical salinity scale ends there.
        "psu" | "ppt" => (TIMES * value).min(42.0),
        // Longer, what else is done at times rarely has a common cycle with it.
        "d" if whole::usual(key).is_some() => (TIMES * value).min(91.0),
        _ => TIMES * value,
    };
    let text = format!("{key}={} {unit}..{} {unit}:{POINTS}", value / TIMES, most.max(value));
    KeyRange::parse(&text).map_err(|e| usage(&e))
}

fn written(range: &KeyRange, x: f64) -> String {
    format!("{}={x} {}", range.key, range.unit).trim_end().to_owned()
}

type Looked = (f64, Result<f64, String>);

/// A root with what may be written for it.
fn solved_value(range: &KeyRange, goal: &Goal, root: &Root, of: &dyn Fn(f64) -> Result<f64, String>) -> SolvedValue {
    let keeps = matches!(goal, Goal::Keeps { .. });
    let rounded: f64 = significant(root.at, DIGITS).parse().unwrap_or(root.at);
    let step = 10f64.to_power(root.at.abs().max(1e-300).to_log10().floor() - f64::from(DIGITS - 1));
    // Rounded to the side on which the bands are kept.
    let tries = [rounded, rounded - step, rounded + step];
    let fits = |x: &f64| !keeps || of(*x).is_ok_and(|used| used <= 1.0);
    let write = tries.into_iter().find(fits).unwrap_or(root.at);
    let more = of(1.01 * root.at).ok().map(|y| y - root.measured);
    SolvedValue {
        value: root.at,
        written: format!("{} {}", significant(write, DIGITS + 2), range.unit).trim_end().to_owned(),
        between: [root.between.0, root.between.1],
        measured: root.measured,
        as_written: of(write).ok(),
        for_a_percent_more: more,
    }
}

/// The ranges of the key in which the use of the bands is at most 1.
fn kept_ranges(points: &[(f64, Option<f64>)], met: &[Root], jumps: &[Root]) -> Vec<[f64; 2]> {
    let mut edges: Vec<f64> = met.iter().chain(jumps).map(|root| root.at).collect();
    edges.sort_by(f64::total_cmp);
    let mut ranges: Vec<[f64; 2]> = Vec::new();
    let mut open: Option<f64> = None;
    let mut before: Option<f64> = None;
    for (x, y) in points {
        let kept = y.is_some_and(|y| y <= 1.0);
        let edge = before.and_then(|b| edges.iter().copied().find(|e| *e >= b && *e <= *x));
        match (open, kept) {
            (None, true) => open = Some(edge.unwrap_or(*x)),
            (Some(from), false) => {
                ranges.push([from, edge.or(before).unwrap_or(*x)]);
                open = None;
            }
            _ => {}
        }
        before = Some(*x);
    }
    if let (Some(from), Some(last)) = (open, before) {
        ranges.push([from, last]);
    }
    ranges
}

/// Values of the key of which nothing can be measured.
fn without_value(looked: &[Looked]) -> Vec<Warning> {
    let mut why: Vec<&String> = looked.iter().filter_map(|(_, y)| y.as_ref().err()).collect();
    let count = why.len();
    why.sort();
    why.dedup();
    let first = why.first().and_then(|w| w.lines().next()).map(|w| w.trim_start_matches("error: "));
    first.map_or_else(Vec::new, |first| {
        let text = format!("{count} of {} values could not be computed: {first}", looked.len());
        vec![Warning::new("no-value", text, "name values that repeat, as whole days; or narrow the range, or measure the run instead of the settled cycle")]
    })
}

fn sentence(a: &SolveAnswer, goal: &Goal, range: &KeyRange, loaded: &Loaded) -> String {
    let view = loaded.scenario.view();
    let say = |v: f64| view.say(&a.measure, v, &a.measure_unit, 4);
    let [from, to] = [range.numbers.first(), range.numbers.last()].map(|x| x.copied().unwrap_or(f64::NAN));
    let key = |x: f64| format!("{} {}", significant(x, DIGITS), range.unit).trim_end().to_owned();
    let seen = a.points.iter().filter_map(|(x, y)| y.map(|y| (*x, y)));
    let nearest = seen.clone().min_by(|p, q| (p.1 - a.target).abs().total_cmp(&(q.1 - a.target).abs()));
    let (low, high) = seen.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), (_, y)| (l.min(y), h.max(y)));
    match goal {
        Goal::Keeps { what, lens, .. } => {
            let when = lens.when();
            let ranges = kept_words(a);
            if ranges.is_empty() {
                let best = nearest.map_or(String::new(), |(x, y)| {
                    format!("; nearest is {}, which uses {} of the band", key(x), say(y))
                });
                return format!("With no {} from {} to {} {what} kept{when}{best}.", a.key, key(from), key(to));
            }
            format!(
                "{} kept{when} with {} of {}; tried from {} to {}.",
                capitalised(what),
                a.key,
                ranges.join(", and "),
                key(from),
                key(to)
            )
        }
        Goal::Meets { name, .. } if !a.kept.is_empty() => {
            let ranges: Vec<String> =
                a.kept.iter().map(|[low, high]| format!("{} to {}", key(*low), key(*high))).collect();
            let ranges = ranges.join(", and ");
            format!(
                "{} is {} with every {} from {ranges}; tried from {} to {}.",
                capitalised(&measure_words(name)),
                say(a.target),
                a.key,
                key(from),
                key(to)
            )
        }
        Goal::Meets { name, .. } => {
            let values: Vec<&str> = a.met.iter().map(|v| v.written.as_str()).collect();
            let what = measure_words(name);
            match values.as_slice() {
                [] => {
                    let jump =
                        a.jumps.first().map_or(String::new(), |v| format!("; it jumps over it at {}", key(v.value)));
                    let best = nearest.map_or(String::new(), |(x, y)| format!("; nearest is {} at {}", say(y), key(x)));
                    format!(
                        "No {} from {} to {} does it: over that range {what} lies between {} and {}{jump}{best}.",
                        a.key,
                        key(from),
                        key(to),
                        say(low),
                        say(high)
                    )
                }
                [one] => format!("{} = {one} brings {what} to {}.", a.key, say(a.target)),
                many => format!(
                    "{} values of {} bring {what} to {}: {}.",
                    many.len(),
                    a.key,
                    say(a.target),
                    many.join(", ")
                ),
            }
        }
    }
}

/// The ranges in which bands are kept, in words; an edge is said as it may be written, on the side on which they are kept.
fn kept_words(a: &SolveAnswer) -> Vec<String> {
    let [from, to] = [a.points.first(), a.points.last()].map(|p| p.map_or(f64::NAN, |p| p.0));
    let key = |x: f64| {
        let edge = a.met.iter().find(|v| (v.value - x).abs() <= 1e-12 * x.abs());
        let plain = || format!("{} {}", significant(x, DIGITS), a.key_unit).trim_end().to_owned();
        edge.map_or_else(plain, |v| v.written.clone())
    };
    a.kept
        .iter()
        .map(|[low, high]| match (*low <= from, *high >= to) {
            (true, true) => format!("everything from {} to {}", key(from), key(to)),
            (true, false) => format!("{} or less", key(*high)),
            (false, true) => format!("{} or more", key(*low)),
            (false, false) => format!("{} to {}", key(*low), key(*high)),
        })
        .collect()
}

/// The values that do it.
fn found(a: &SolveAnswer) -> String {
    let values: Vec<String> = a.met.iter().map(|v| v.written.clone()).collect();
    let values = if values.is_empty() { kept_words(a) } else { values };
    if values.is_empty() {
        format!("No {} in this range does it", key_words(&a.key))
    } else {
        format!("{}: {}", spoken_first(&key_words(&a.key)), values.join(" or "))
    }
}

fn picture(a: &SolveAnswer, loaded: &Loaded) -> Picture {
    let shown = loaded.scenario.view().of(&a.measure, &a.measure_unit);
    let what = if a.measure == "band use" { "the use of the band".to_owned() } else { measure_words(&a.measure) };
    let points = a.points.iter().filter_map(|(x, y)| y.map(|y| (*x, shown.value(y)))).collect();
    let ends = [a.points.first(), a.points.last()].map(|p| p.map_or(0.0, |p| p.0));
    let target = shown.value(a.target);
    Picture::Series(Series {
        head: Head {
            finding: found(a),
            question: format!("Which {} does it: {}?", key_words(&a.key), a.goal),
            note: format!("{}, {} basis", a.scenario, a.basis),
        },
        x_label: axis_words(&a.key, &a.key_unit),
        y_label: format!("{what}, {}", shown.unit),
        unit: shown.unit.clone(),
        lines: vec![Line::new("reached", points), Line::new("asked", ends.map(|x| (x, target)).to_vec())],
        marks: a.met.iter().map(|v| (v.value, v.written.clone())).collect(),
        ..Series::default()
    })
}
