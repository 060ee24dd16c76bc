//! `choose`: the regime that keeps every band and takes least, its runners-up, and what a tighter limit
//! would take; or, where none does it, the nearest and what would help.

mod answer;
mod candidate;
mod mixed;
mod request;
mod search;
mod show;
mod words;
mod worth;

pub(in crate::app) use show::span_words;

pub use answer::ChooseResult;
pub use request::{ChooseRequest, Least};

use rayon::prelude::*;

use crate::app::choose::candidate::{candidate, nothing};
use crate::app::choose::mixed::Tried;
use crate::app::choose::search::{MOST_CHECKS, Search};
use crate::app::choose::show::{doubts, picture, sentence, warnings};
use crate::app::choose::worth::worth;
use crate::app::load::check_span;
use crate::app::remedies::remedies;
use crate::app::sweep::{product, sets};
use crate::app::{AppError, Loaded, water, within_reach};
use crate::model::{Band, Plan};
use crate::results::{Candidate, Choice, Marginal};
use crate::units::{Duration, YEAR_D};

use crate::study::{Going, Judged, KeyRange, judge_all, keeps, on_front};

/// Keys that are tried where none are named.
const USUAL: [&str; 2] = ["change.every=3d..28d:26", "change.amount=5%..50%:10"];
/// The same, where none of these keeps every band: nobody is sent to the tank daily for a percent of margin.
const OFTENER: [&str; 2] = ["change.every=1d,2d", "change.amount=5%..50%:10"];

/// Most candidates.
const MOST_CANDIDATES: usize = 20_000;

/// Share by which a limit is tightened to see what that takes.
const TIGHTER: f64 = 0.10;

/// Share within which two costs are the same: what differs is rounding.
const SAME: f64 = 1e-9;

/// Refuses a key that is tried twice.
fn each_once(ranges: &[KeyRange]) -> Result<(), AppError> {
    let twice = ranges.iter().enumerate().find(|(k, range)| ranges[..*k].iter().any(|other| other.key == range.key));
    twice.map_or(Ok(()), |(_, range)| {
        Err(AppError::Usage(format!(
            "--over gives `{}` twice: give all its values in one, as in {}=7d,14d,21d",
            range.key, range.key
        )))
    })
}

/// Refuses what cannot be chosen by: no band to keep, no price to be least.
fn possible(base: &Plan, request: &ChooseRequest) -> Result<(), AppError> {
    let usage = |e: &dyn std::fmt::Display| AppError::Usage(e.to_string());
    if base.bands.is_empty() {
        return Err(usage(
            &"there is no band to keep: give the scenario a table [bands]\n  = help: example: --set \"bands.nitrate=below 20 mg/L\"",
        ));
    }
    if request.least == Least::Cost && base.costs.salt_per_kg.is_none() && base.costs.fresh_per_l.is_none() {
        return Err(usage(
            &"no price is given\n  = help: example: --set \"costs.salt=3.5 EUR/kg\" --set \"costs.fresh_water=0.02 EUR/L\"",
        ));
    }
    Ok(())
}

/// Tries every combination of the ranges; where none are named and none of the usual keeps every band, those that are done oftener.
pub fn choose(loaded: &Loaded, request: &ChooseRequest, going: Going<'_>) -> Result<ChooseResult, AppError> {
    let usual = choose_over(loaded, request, &USUAL, going)?;
    if usual.choice.best.is_some() || !request.over.is_empty() {
        return Ok(usual);
    }
    let oftener = choose_over(loaded, request, &OFTENER, going)?;
    let is_nearer = nearest_use(&oftener.choice) < nearest_use(&usual.choice);
    Ok(if oftener.choice.best.is_some() || is_nearer { oftener } else { usual })
}

/// How much of the tightest band the nearest plan takes.
fn nearest_use(choice: &Choice) -> f64 {
    choice.nearest.map_or(f64::INFINITY, |n| choice.candidates[n].band_use)
}

fn choose_over(
    loaded: &Loaded,
    request: &ChooseRequest,
    unnamed: &[&str],
    going: Going<'_>,
) -> Result<ChooseResult, AppError> {
    let usage = |e: &dyn std::fmt::Display| AppError::Usage(e.to_string());
    let base = &loaded.scenario.plan;
    possible(base, request)?;
    check_span(request.span_d)?;
    let over: Vec<String> =
        if request.over.is_empty() { unnamed.iter().map(|t| (*t).to_owned()).collect() } else { request.over.clone() };
    let ranges: Vec<KeyRange> =
        over.iter().map(|t| KeyRange::parse(t)).collect::<Result<_, _>>().map_err(|e| usage(&e))?;
    each_once(&ranges)?;
    let points = product(&ranges);
    if points.len() > MOST_CANDIDATES {
        return Err(usage(&format!("{} candidates are too many: at most {MOST_CANDIDATES}", points.len())));
    }
    let varying = loaded.varying(ranges.iter().map(|r| &*r.key));
    let plans: Vec<Plan> =
        points.par_iter().map(|point| varying.plan(&sets(&ranges, point))).collect::<Result<_, _>>()?;
    let checks = if request.uncertainty.is_none() { 0.0 } else { MOST_CHECKS as f64 * request.members as f64 };
    let year = Plan { horizon: Duration::from_days(request.span_d + YEAR_D), ..base.clone() };
    within_reach(plans.iter().map(|p| (p.work(), 1.0)).chain([(year.work(), checks)]))?;
    let judged = judge_all(&plans, &|share| going(0.5 * share)).ok_or(AppError::Stopped)?;
    let mut candidates = candidates(base, request.least, &ranges, &points, &judged);
    let search = Search { loaded, request, ranges: &ranges, points: &points, judged: &judged };
    let (found, in_the_first) = search.confirmed(&mut candidates, going)?;
    let worth =
        if request.worth && !request.uncertainty.is_none() { worth(&search, &candidates, &found)? } else { Vec::new() };
    let mut warnings = warnings(&candidates);
    let best = found.first().copied();
    let price = best
        .zip(in_the_first)
        .filter(|_| !request.also.is_empty())
        .and_then(|(best, first)| Some(request.least.of(&candidates[best])? - request.least.of(&candidates[first])?));
    let tried = Tried { loaded, request, ranges: &ranges, plans: &plans, candidates: &candidates, judged: &judged };
    let with_mix = tried.with_mix(best);
    let once = base.periods.iter().find(|p| !p.yearly && !p.of_series).map(|p| p.name.as_str());
    warnings.extend(doubts(&candidates, &ranges, &points, request, best, once));
    let nearest = match best {
        Some(_) => None,
        None => nearest(&candidates),
    };
    if let Some(told) = best.or(nearest) {
        warnings.extend(water::of_long_in_force(&plans[told], &loaded.scenario, "this plan"));
    }
    let remedies = match nearest.and_then(|n| judged[n].as_ref().ok().map(|j| (n, j))) {
        Some((n, judged)) if !candidates[n].keeps => remedies(&plans[n], judged, &loaded.scenario.view()),
        _ => Vec::new(),
    };
    let choice = Choice {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: loaded.scenario.name.clone(),
        basis: base.basis.key().into(),
        seed: request.seed,
        keys: ranges.iter().map(|r| r.key.clone()).collect(),
        least: request.least.name().into(),
        unit: request.least.unit(base),
        chance: request.chance,
        span_d: request.span_d,
        uncertain: request.uncertainty.lines(),
        members: if request.uncertainty.is_none() { 0 } else { request.members },
        answer: sentence(&candidates, &ranges, request, best, nearest, &loaded.scenario),
        best,
        runners_up: found.into_iter().skip(1).collect(),
        // Under uncertainty a tighter limit would have to be tried by chance, limit by limit.
        marginal: best
            .filter(|_| request.uncertainty.is_none())
            .map_or_else(Vec::new, |b| marginal(base, request.least, &candidates, &judged, b)),
        worth,
        also: request.also.iter().map(|l| l.scenario.name.clone()).collect(),
        price_of_all: price,
        nearest,
        remedies,
        with_mix,
        candidates,
        warnings,
    };
    let pictures = vec![("choose".to_owned(), picture(&choice, &ranges, &loaded.scenario.view()))];
    Ok(ChooseResult { choice, pictures })
}

/// Every candidate as it was judged, those on the front marked.
fn candidates(
    base: &Plan,
    least: Least,
    ranges: &[KeyRange],
    points: &[Vec<usize>],
    judged: &[Result<Judged, crate::engine::SettleError>],
) -> Vec<Candidate> {
    let mut list: Vec<Candidate> = points
        .iter()
        .zip(judged)
        .map(|(point, judged)| {
            let values = point.iter().zip(ranges).map(|(i, r)| r.values[*i].clone()).collect();
            match judged {
                Ok(judged) => candidate(base, values, judged),
                Err(why) => Candidate { failed: Some(why.to_string()), ..nothing(values) },
            }
        })
        .collect();
    let spent: Vec<Option<(f64, f64)>> =
        list.iter().map(|c| least.of(c).filter(|_| c.failed.is_none()).map(|least| (least, c.band_use))).collect();
    for (c, front) in list.iter_mut().zip(on_front(&spent)) {
        c.on_front = front;
    }
    list
}

/// The candidate nearest to its bands, the likeliest first where chance was looked at.
fn nearest(candidates: &[Candidate]) -> Option<usize> {
    let by_chance = (0..candidates.len()).filter(|i| candidates[*i].chance.is_some()).max_by(|a, b| {
        candidates[*a].chance.map_or(0.0, |c| c.value).total_cmp(&candidates[*b].chance.map_or(0.0, |c| c.value))
    });
    by_chance.or_else(|| {
        (0..candidates.len())
            .filter(|i| candidates[*i].band_use.is_finite())
            .min_by(|a, b| candidates[*a].band_use.total_cmp(&candidates[*b].band_use))
    })
}

/// What a tenth off each limit would take: the best candidate that keeps the tighter one.
fn marginal(
    base: &Plan,
    least: Least,
    candidates: &[Candidate],
    judged: &[Result<Judged, crate::engine::SettleError>],
    best: usize,
) -> Vec<Marginal> {
    let now = least.of(&candidates[best]).unwrap_or(f64::NAN);
    let mut list = Vec::new();
    for (b, band) in base.bands.iter().enumerate() {
        let (key, unit) = base.named(band.of);
        let width = match (band.low, band.high) {
            (Some(low), Some(high)) => 0.5 * (high - low),
            (None, Some(edge)) | (Some(edge), None) => edge,
            (None, None) => continue,
        };
        let tighter: [(Option<f64>, f64, Band); 2] = [
            (band.low, width, Band { low: band.low.map(|l| l + TIGHTER * width), ..*band }),
            (band.high, -width, Band { high: band.high.map(|h| h - TIGHTER * width), ..*band }),
        ];
        for (limit, towards, band) in tighter {
            let Some(limit) = limit else { continue };
            let mut bands = base.bands.clone();
            bands[b] = band;
            let better = candidates
                .iter()
                .zip(judged)
                .filter(|(c, j)| c.keeps && j.as_ref().is_ok_and(|j| keeps(&j.settled, &bands)))
                // No regime that chance has ruled out.
                .filter(|(c, _)| least.of(c).is_some_and(|l| l >= now * (1.0 - SAME)))
                .filter_map(|(c, _)| least.of(c))
                .fold(f64::INFINITY, f64::min);
            list.push(Marginal {
                key: key.to_owned(),
                limit,
                tighter: limit + TIGHTER * towards,
                unit: unit.into(),
                more: better.is_finite().then_some(if better <= now * (1.0 + SAME) { 0.0 } else { better - now }),
            });
        }
    }
    list
}
