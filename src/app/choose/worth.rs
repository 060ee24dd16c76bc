//! What readings of the tank as it stands would save before the choice.

use rand_distr::{Distribution, StandardNormal};

use super::search::Search;
use crate::app::AppError;
use crate::engine::settle;
use crate::learn::Precision;
use crate::model::Variable;
use crate::results::{Candidate, WorthOfReading};
use crate::study::{saved_by_reading, stream};

/// Chance below which a regime is not at stake, whatever is read.
const AT_STAKE: f64 = 0.2;

/// Regimes beyond those that are taken that a reading may ask for.
const BEYOND: usize = 6;

/// Regimes at stake that are weighed at most, and the members that they are weighed in.
const MOST_AT_STAKE: usize = 40;
/// See above.
const WEIGHED: u64 = 1500;

/// Parts of the members whose scatter tells how well a worth is known.
const PARTS: usize = 6;

/// Regimes as members keep them: what each takes, and who keeps its bands.
type Kept = Vec<(f64, Vec<bool>)>;

/// What readings save of what should be least, the best first. The choice is the least that keeps the bands with the chance that
/// was asked; where none does, the one that does it oftenest.
pub(super) fn worth(
    search: &Search<'_>,
    candidates: &[Candidate],
    found: &[usize],
) -> Result<Vec<WorthOfReading>, AppError> {
    let (request, base) = (search.request, &search.loaded.scenario.plan);
    let (Ok(settled), Some(last)) = (settle(base), found.last()) else { return Ok(Vec::new()) };
    let kept = at_stake(search, candidates, *last)?;
    let values = search.trial(&[], &settled)?.at_begin(request, WEIGHED)?;
    let cost = |weights: &[f64]| {
        let chance = |own: &[bool]| own.iter().zip(weights).filter(|(k, _)| **k).map(|(_, w)| w).sum::<f64>();
        let all: Vec<(f64, f64)> = kept.iter().map(|(least, own)| (*least, chance(own))).collect();
        let does = all.iter().find(|(_, chance)| *chance >= request.chance - 1e-12);
        does.or(all.iter().max_by(|a, b| a.1.total_cmp(&b.1))).map_or(f64::NAN, |(least, _)| *least)
    };
    let kit = request.uncertainty.kit_error.unwrap_or(Precision::USUAL_KIT);
    let meter = Precision::of(base, kit).salinity_psu;
    let mut rng = stream(request.seed, u64::MAX - 1);
    let noise: Vec<f64> = (0..WEIGHED).map(|_| StandardNormal.sample(&mut rng)).collect();
    let mut list = Vec::new();
    for (q, of) in base.quantities().enumerate().filter(|(_, of)| base.bands.iter().any(|band| band.of == *of)) {
        let name = base.named(of).0.replace('_', " ");
        for (how, times) in [("one reading", 1.0), ("four readings", 2.0), ("one reading twice as good", 2.0)] {
            let error = |v: &f64| if of == Variable::Salinity { meter / times } else { (kit * v / times).max(1e-9) };
            let deviation: Vec<f64> = values[q].iter().map(error).collect();
            // Its error is that of the members too: of parts of them, each by itself.
            let parts: Vec<f64> = (0..PARTS)
                .map(|part| {
                    let only = |weights: &[f64]| cost(&spread_over(weights, part, values[q].len()));
                    let [signal, errors, noise] = [&values[q], &deviation, &noise].map(|all| part_of(all, part));
                    saved_by_reading(&signal, &errors, &noise, &only)
                })
                .collect();
            let n = PARTS as f64;
            let mean = parts.iter().sum::<f64>() / n;
            let error = (parts.iter().map(|p| (p - mean).powi(2)).sum::<f64>() / (n - 1.0) / n).sqrt();
            let saves = saved_by_reading(&values[q], &deviation, &noise, &cost);
            list.push(WorthOfReading { what: format!("{how} of {name}"), saves, error });
        }
    }
    list.sort_by(|a, b| b.saves.total_cmp(&a.saves));
    Ok(list)
}

/// The regimes that may be chosen by what is read, least first: from the first with some chance on, to a few beyond those taken.
fn at_stake(search: &Search<'_>, candidates: &[Candidate], last: usize) -> Result<Kept, AppError> {
    let least = |i: usize| search.request.least.of(&candidates[i]).unwrap_or(f64::INFINITY);
    let mut order: Vec<usize> = (0..candidates.len())
        .filter(|i| candidates[*i].keeps && candidates[*i].chance.is_none_or(|k| k.value >= AT_STAKE))
        .collect();
    order.sort_by(|a, b| least(*a).total_cmp(&least(*b)));
    let within = order.iter().filter(|i| least(**i) <= least(last)).count();
    let end = (within + BEYOND).min(order.len());
    let order = &order[end.saturating_sub(MOST_AT_STAKE)..end];
    order.iter().map(|i| Ok((least(*i), search.trial_of(*i)?.each(search.request, 0, WEIGHED)?))).collect()
}

/// The values of every so many-th member.
fn part_of(values: &[f64], part: usize) -> Vec<f64> {
    values.iter().skip(part).step_by(PARTS).copied().collect()
}

/// Weights of a part of the members, as weights of all.
fn spread_over(weights: &[f64], part: usize, count: usize) -> Vec<f64> {
    let mut all = vec![0.0; count];
    weights.iter().enumerate().for_each(|(k, w)| all[part + k * PARTS] = *w);
    all
}
