//! `compare`: variants of a scenario side by side, with what drives the differences.

mod answer;
mod under;
mod words;

pub use answer::CompareResult;
pub use under::UnderRequest;

use crate::app::dated::Dated;
use crate::app::{AppError, Loaded, RunResult, run};
use crate::chart::{Head, Line, Picture, Series, range};
use crate::results::{Comparison, Summary, Warning, capitalised, spoken_first};
use crate::scenario::{Scenario, check_name};
use crate::study::Going;
use crate::units::Shown;

/// A variant given on the command line: `name: key=value, key=value`.
fn parse_case(text: &str) -> Result<(String, Vec<String>), AppError> {
    let wrong = |why: &str| {
        AppError::Usage(format!(
            "--case `{text}`: {why}\n  = help: example: --case \"larger: change.amount=20 %, change.every=14 d\""
        ))
    };
    let (name, sets) = text.split_once(':').ok_or_else(|| wrong("it has no name"))?;
    let name = name.trim();
    if name.is_empty() || name == BASE {
        return Err(wrong("the name is empty, or that of the scenario as it stands"));
    }
    check_name(name).map_err(|why| wrong(&why))?;
    let mut overrides: Vec<String> = Vec::new();
    let mut depth = 0;
    let mut piece = String::new();
    // A comma inside a list belongs to the list.
    for c in sets.chars() {
        match c {
            '[' => depth += 1,
            ']' => depth -= 1,
            _ => {}
        }
        if c == ',' && depth == 0 {
            overrides.push(std::mem::take(&mut piece));
        } else {
            piece.push(c);
        }
    }
    overrides.push(piece);
    let overrides: Vec<String> = overrides.into_iter().map(|o| o.trim().to_owned()).filter(|o| !o.is_empty()).collect();
    if overrides.is_empty() {
        return Err(wrong("it changes nothing"));
    }
    Ok((name.to_owned(), overrides))
}

/// Name of the scenario as it stands.
const BASE: &str = "as is";

/// Most variants that a picture can tell apart.
const MOST_CASES: usize = 5;

/// Where the variants end, the lowest and the highest.
fn at_the_end(key: &str, lines: &[Line], shown: &Shown) -> String {
    let ends = || lines.iter().filter_map(|l| Some((&l.label, l.end()?)));
    let low = ends().min_by(|a, b| a.1.0.total_cmp(&b.1.0));
    let high = ends().max_by(|a, b| a.1.1.total_cmp(&b.1.1));
    let range = |(low, high)| range(low, high);
    let variant = |name: &str| if name == BASE { name.to_owned() } else { format!("with \"{name}\"") };
    match (low, high) {
        (Some(low), Some(high)) if range(low.1) != range(high.1) => format!(
            "{} ends at {} {} {}, at {} {}",
            spoken_first(key),
            range(low.1),
            shown.unit,
            variant(low.0),
            range(high.1),
            variant(high.0)
        ),
        (Some(low), _) => format!("{} ends at {} {} with each", spoken_first(key), range(low.1), shown.unit),
        _ => spoken_first(key),
    }
}

/// A picture a quantity: in it a line a variant.
fn pictures(base: &Scenario, variants: &[(String, Loaded)], results: &[RunResult]) -> Vec<(String, Picture)> {
    let view = base.view();
    let mut lines: Vec<(String, String, Vec<Line>)> = Vec::new();
    for ((name, loaded), result) in variants.iter().zip(results) {
        let trace = &result.outcome.trace;
        let mut add = |key: &str, unit: &str, column: &[f64]| {
            let points: Vec<(f64, f64)> = trace.time_d.iter().copied().zip(column.iter().copied()).collect();
            let line = Line::new(name.clone(), view.of(key, unit).points(&points)).round_in(result.outcome.round_d());
            match lines.iter_mut().find(|(k, _, _)| k == key) {
                Some((_, _, lines)) => lines.push(line),
                None => lines.push((key.to_owned(), unit.to_owned(), vec![line])),
            }
        };
        add("salinity", "psu", &trace.salinity_psu);
        for (species, column) in loaded.scenario.plan.species.iter().zip(&trace.solutes) {
            add(&species.solute.key, species.solute.unit(), column);
        }
    }
    lines
        .into_iter()
        .map(|(key, unit, lines)| {
            let band = results[0].summary.bands.iter().find(|b| b.key == key).map_or((None, None), |b| (b.low, b.high));
            let shown = view.of(&key, &unit);
            let finding = at_the_end(&key, &lines, &shown);
            let (lines, swings): (Vec<Line>, Vec<_>) = lines.into_iter().map(Line::by_day).unzip();
            let by_day =
                if swings.iter().any(Option::is_some) { "; a line that swings daily: its days' means" } else { "" };
            let picture = Series {
                head: Head {
                    finding,
                    question: format!("What do the variants do to {}?", key.replace('_', " ")),
                    note: format!(
                        "{}, {} basis; at the right: the last cycle, between two changes{by_day}",
                        base.name,
                        base.plan.basis.key()
                    ),
                },
                x_label: format!("days from {}", base.start),
                since: Dated::of(base).start(),
                y_label: format!("{}, {}", key.replace('_', " "), shown.unit),
                band: shown.edges(band),
                band_name: "allowed".into(),
                unit: shown.unit,
                lines,
                ..Series::default()
            };
            (format!("compare_{key}"), Picture::Series(picture))
        })
        .collect()
}

/// Runs the scenario as it stands and every variant.
pub fn compare(
    loaded: &Loaded,
    cases: &[String],
    request: &UnderRequest,
    going: Going<'_>,
) -> Result<CompareResult, AppError> {
    let named = loaded.scenario.variants.clone();
    let given = cases.iter().map(|case| parse_case(case)).collect::<Result<Vec<_>, _>>()?;
    let cases = [named, given].concat();
    if cases.is_empty() || cases.len() > MOST_CASES {
        return Err(AppError::Usage(format!(
            "compare takes 1 to {MOST_CASES} variants, named under [variants] or given with --case\n  = help: example: --case \"larger: change.amount=20 %, change.every=14 d\""
        )));
    }
    let mut variants = vec![(BASE.to_owned(), loaded.clone())];
    for (name, sets) in cases {
        if variants.iter().any(|(n, _)| *n == name) {
            return Err(AppError::Usage(format!("two variants are called `{name}`")));
        }
        variants.push((name, loaded.with(&sets)?));
    }
    let under = under::under(&variants, request, going)?;
    let results = variants.iter().map(|(_, l)| run(l)).collect::<Result<Vec<_>, _>>()?;
    let pictures = pictures(&loaded.scenario, &variants, &results);
    let base = &loaded.scenario;
    let names: Vec<String> = variants.into_iter().map(|(name, _)| name).collect();
    let summaries: Vec<Summary> = results.into_iter().map(|r| r.summary).collect();
    // Of a variant what it has beside the tank as it is, and what is urgent in any case.
    let is_new = |k: usize, w: &Warning| {
        k == 0 || w.urgency().is_some() || summaries[0].warnings.iter().all(|own| own.code != w.code)
    };
    let of = |(k, summary): (usize, &Summary)| -> Vec<Warning> {
        let told = summary.warnings.iter().filter(|w| is_new(k, w));
        told.map(|w| Warning { text: format!("{}: {}", capitalised(&names[k]), w.text), ..w.clone() }).collect()
    };
    let warnings: Vec<Warning> = summaries.iter().enumerate().flat_map(of).collect();
    let comparison = Comparison {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: base.name.clone(),
        basis: base.plan.basis.key().into(),
        names,
        summaries,
        uncertain: if under.is_empty() { Vec::new() } else { request.uncertainty.lines() },
        under,
        money: format!("{}/year", base.plan.costs.currency),
        span_d: request.span_d,
        members: request.members,
        warnings,
    };
    Ok(CompareResult { comparison, pictures })
}
