//! The regimes that keep every band with the chance that was asked for, least first.
//!
//! A member starts from the settled cycle of its regime and runs with its own keys, weather and mishaps until it has forgotten
//! how it was started; only then its bands are watched, for the span that was asked. A regime is taken where a lower bound of
//! its chance, from members that had no part in finding it, is no less than what was asked.

use super::request::ChooseRequest;
use crate::app::members::Members;
use crate::app::sweep::sets;
use crate::app::{AppError, Loaded};
use crate::engine::{SettleError, settle};
use crate::model::{Id, Plan, Variable};
use crate::numerics::{chance_at_least, chance_at_most, chance_error};
use crate::results::{Candidate, KeptChance, Settled, WorthOfReading};
use crate::study::{Going, Judged, KeyRange, keeps, kept_each, started_settled, stream, walk, worth_of_reading};
use crate::units::Duration;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

/// Candidates checked by chance before the search ends.
pub(super) const MOST_CHECKS: usize = 400;

/// Members of a first look.
const FIRST_LOOK: u64 = 60;

/// Regimes that are looked at together.
const TOGETHER: usize = 8;

/// Doubt with which a first look rules a regime out.
const RULED_OUT: f64 = 1e-3;

/// Doubt of the lower bound on which a regime is taken.
pub(super) const DOUBT: f64 = 0.05;

/// Runners-up that are named.
pub(super) const RUNNERS_UP: usize = 3;

/// The first of the members that had no part in finding a regime.
const FRESH: u64 = 1 << 40;

/// Share of the chance that was asked for below which a regime is not at stake, whatever is read.
const AT_STAKE: f64 = 0.5;

/// Regimes at stake that are weighed at most, and the members that they are weighed in.
const MOST_AT_STAKE: usize = 24;
/// See above.
const WEIGHED: u64 = 1500;

/// Parts of the members whose scatter tells how well a worth is known.
const PARTS: usize = 6;

/// Standard deviation of a test kit where none is said, as a share (common practice, no source).
const USUAL_KIT: f64 = 0.15;

/// Half-lives after which a member has forgotten how it was started: a sixty-fourth of that is left.
const FORGOTTEN: f64 = 6.0;

/// Longest time that members are run for that \[d\]; beyond it each begins in a settled cycle of its own.
const LONGEST_D: f64 = 730.0;

/// The regimes that are taken, least first; and the first that would be taken if it had to hold in the first tank alone.
pub(super) type Found = (Vec<usize>, Option<usize>);

#[derive(Clone, Copy)]
pub(super) struct Search<'a> {
    pub(super) loaded: &'a Loaded,
    pub(super) request: &'a ChooseRequest,
    pub(super) ranges: &'a [KeyRange],
    pub(super) points: &'a [Vec<usize>],
    pub(super) judged: &'a [Result<Judged, SettleError>],
}

/// A regime under uncertainty.
struct Trial<'a> {
    loaded: &'a Loaded,
    members: Members<'a>,
    /// The plan as it begins.
    begin: Plan,
    /// Days before the bands are watched.
    forgets_d: u32,
    /// Whether members begin in settled cycles of their own.
    own_start: bool,
}

impl Trial<'_> {
    /// Puts a member at its begin: in the settled cycle of its regime.
    fn begins(&self, plan: &mut Plan) {
        let own = if self.own_start { settle(plan).ok() } else { None };
        let begin = own.map_or_else(|| self.begin.clone(), |settled| started_settled(plan, &settled));
        let tank = &mut plan.tank;
        (tank.salinity, tank.volume) = (begin.tank.salinity, begin.tank.volume);
        plan.species.iter_mut().zip(begin.species.iter()).for_each(|(own, begin)| own.initial = begin.initial);
    }

    /// How many of some members keep every band.
    fn kept(&self, first: u64, count: u64) -> Result<usize, AppError> {
        Ok(self.each(first, count)?.into_iter().filter(|kept| *kept).count())
    }

    /// Whether each of some members keeps every band.
    fn each(&self, first: u64, count: u64) -> Result<Vec<bool>, AppError> {
        let member = |m: usize| self.members.plan_with(first + m as u64, &|plan| self.begins(plan));
        kept_each(
            self.forgets_d as usize,
            &self.loaded.scenario.plan,
            usize::try_from(count).unwrap_or(usize::MAX),
            &member,
        )
    }
}

impl Trial<'_> {
    /// Salinity and the solutes of some members when their bands begin to be watched: quantities, in them members.
    fn at_begin(&self, count: u64) -> Result<Vec<Vec<f64>>, AppError> {
        let mut plan = self.loaded.scenario.plan.clone();
        plan.horizon = Duration::from_days(f64::from(self.forgets_d).max(1.0));
        let quantities = plan.species.iter().count() + 1;
        let mut last = vec![Vec::new(); quantities];
        let horizon = plan.horizon;
        let member = |m: usize| {
            let mut own = self.members.plan_with(m as u64, &|plan| self.begins(plan))?;
            own.horizon = horizon;
            Ok::<Plan, AppError>(own)
        };
        walk(&plan, usize::try_from(count).unwrap_or(usize::MAX), &member, &|_| true, |block| {
            for (q, column) in last.iter_mut().enumerate() {
                *column = block.cell(block.rows - 1, q).to_vec();
            }
            Ok::<(), AppError>(())
        })?;
        Ok(last)
    }
}

impl Search<'_> {
    /// The regimes that are taken, least first; what was found of those that were tried is put down.
    pub(super) fn confirmed(&self, candidates: &mut [Candidate], going: Going<'_>) -> Result<Found, AppError> {
        let mut order: Vec<usize> = (0..candidates.len()).filter(|i| candidates[*i].keeps).collect();
        // What takes the same but for rounding is ordered by its margin.
        let key = |c: &Candidate| {
            let least = self.request.least.of(c).unwrap_or(f64::INFINITY);
            (format!("{least:.8e}").parse().unwrap_or(least), c.band_use)
        };
        order.sort_by(|a, b| {
            let (a, b) = (key(&candidates[*a]), key(&candidates[*b]));
            a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
        });
        if self.request.uncertainty.is_none() {
            let in_the_first = order.first().copied();
            if !self.request.also.is_empty() {
                let mut all = Vec::new();
                for i in order {
                    let keeps = self.keeps_elsewhere(i)?;
                    candidates[i].keeps &= keeps;
                    if keeps {
                        all.push(i);
                    }
                    if all.len() > RUNNERS_UP {
                        break;
                    }
                }
                order = all;
            }
            order.truncate(1 + RUNNERS_UP);
            return Ok((order, in_the_first));
        }
        let (mut found, mut in_the_first) = (Vec::new(), None);
        let tried = &order[..order.len().min(MOST_CHECKS)];
        for (k, some) in tried.chunks(TOGETHER).enumerate() {
            if !going(0.5 + 0.5 * (TOGETHER * k) as f64 / tried.len() as f64) {
                return Err(AppError::Stopped);
            }
            // A first look has too few members for all cores, so several regimes are looked at together.
            let looks: Vec<Option<KeptChance>> =
                some.par_iter().map(|i| self.first_look(*i)).collect::<Result<_, _>>()?;
            for (i, look) in some.iter().copied().zip(looks) {
                let mut chance = look.map_or_else(|| self.chance(i), Ok)?;
                if chance.enough {
                    in_the_first.get_or_insert(i);
                }
                // In every other tank too, with the least of the chances told.
                for other in &self.request.also {
                    let there = self.in_another(other, i)?;
                    let enough = chance.enough && there.enough;
                    let least = if there.value < chance.value { there } else { chance };
                    chance = KeptChance { enough, ..least };
                }
                candidates[i].chance = Some(chance);
                if chance.enough {
                    found.push(i);
                    if found.len() > RUNNERS_UP {
                        return Ok((found, in_the_first));
                    }
                }
            }
        }
        Ok((found, in_the_first))
    }

    /// A regime that was begun, under uncertainty.
    fn trial<'t>(&'t self, (loaded, forgets_d, own_start): &'t (Loaded, u32, bool), own: &Settled) -> Trial<'t> {
        let plan = &loaded.scenario.plan;
        let begin = settle(plan).map_or_else(|_| started_settled(plan, own), |settled| started_settled(plan, &settled));
        let members = Members::new(loaded, &self.request.uncertainty, self.request.seed);
        Trial { loaded, members, begin, forgets_d: *forgets_d, own_start: *own_start }
    }

    /// What readings of the tank as it stands would save before the choice, with the regimes that are at stake: those that were not
    /// ruled out at once, up to the last that is taken.
    pub(super) fn worth(&self, candidates: &[Candidate], found: &[usize]) -> Result<Vec<WorthOfReading>, AppError> {
        let base = &self.loaded.scenario.plan;
        let (Ok(settled), Some(last)) = (settle(base), found.last()) else { return Ok(Vec::new()) };
        let least = |i: usize| self.request.least.of(&candidates[i]).unwrap_or(f64::INFINITY);
        let at_stake = |i: &usize| {
            candidates[*i].chance.is_some_and(|k| k.value >= AT_STAKE * self.request.chance)
                && least(*i) <= least(*last)
        };
        let mut order: Vec<usize> = (0..candidates.len()).filter(at_stake).collect();
        order.sort_by(|a, b| least(*a).total_cmp(&least(*b)));
        // Of very many the dearest: they are the ones that are likely to be taken.
        let order = &order[order.len().saturating_sub(MOST_AT_STAKE)..];
        let mut kept = Vec::new();
        for i in order {
            let Ok(judged) = &self.judged[*i] else { continue };
            let begun = self.begun(&sets(self.ranges, &self.points[*i]), &judged.settled)?;
            kept.push((least(*i), self.trial(&begun, &judged.settled).each(0, WEIGHED)?));
        }
        let begun = self.begun(&[], &settled)?;
        let values = self.trial(&begun, &settled).at_begin(WEIGHED)?;
        let asked = self.request.chance;
        // The least that does it; where none does, the one that does it oftenest.
        let cost = |weights: &[f64]| {
            let chance = |own: &[bool]| own.iter().zip(weights).filter(|(k, _)| **k).map(|(_, w)| w).sum::<f64>();
            let all: Vec<(f64, f64)> = kept.iter().map(|(least, own)| (*least, chance(own))).collect();
            let does = all.iter().find(|(_, chance)| *chance >= asked - 1e-12);
            does.or(all.iter().max_by(|a, b| a.1.total_cmp(&b.1))).map_or(f64::NAN, |(least, _)| *least)
        };
        let mut rng = stream(self.request.seed, u64::MAX - 1);
        let count = values.first().map_or(0, Vec::len);
        let draws: Vec<(usize, f64)> = (0..count).map(|m| (m, StandardNormal.sample(&mut rng))).collect();
        let kit = self.request.uncertainty.kit_error.unwrap_or(USUAL_KIT);
        let meter = base.regime.meter.uncertainty_psu().max(0.01);
        let mut list = Vec::new();
        for band in &base.bands {
            let (q, name) = match band.of {
                Variable::Salinity => (0, "salinity".to_owned()),
                Variable::Solute(i) => (1 + i.place(), base.species[i].solute.key.to_string()),
            };
            for (how, times) in [("one reading", 1.0), ("four readings", 2.0), ("one reading twice as good", 2.0)] {
                let error = |v: &f64| if q == 0 { meter / times } else { (kit * v.abs() / times).max(1e-9) };
                let deviation: Vec<f64> = values[q].iter().map(error).collect();
                let worth = worth_of_reading(&values[q], &deviation, &draws, &cost);
                // The same readings of other members tell nothing: what they seem to save is the doing of few members.
                let [mut other, mut blind] = [values[q].clone(), deviation.clone()];
                other.rotate_left(count / 2);
                blind.rotate_left(count / 2);
                let nothing = worth_of_reading(&other, &blind, &draws, &cost);
                // Its error is that of the members too: of parts of them, each by itself.
                let parts: Vec<f64> = (0..PARTS)
                    .map(|part| {
                        let only = |weights: &[f64]| cost(&spread_over(weights, part, count));
                        let own = part_of(&values[q], part);
                        let (errors, draws) = (part_of(&deviation, part), &draws[..own.len()]);
                        let [mut other, mut blind] = [own.clone(), errors.clone()];
                        other.rotate_left(own.len() / 2);
                        blind.rotate_left(own.len() / 2);
                        worth_of_reading(&other, &blind, draws, &only).with
                            - worth_of_reading(&own, &errors, draws, &only).with
                    })
                    .collect();
                let n = PARTS as f64;
                let mean = parts.iter().sum::<f64>() / n;
                let scatter = (parts.iter().map(|p| (p - mean).powi(2)).sum::<f64>() / (n - 1.0) / n).sqrt();
                list.push(WorthOfReading {
                    what: format!("{how} of {}", name.replace('_', " ")),
                    saves: nothing.with - worth.with,
                    error: scatter,
                });
            }
        }
        list.sort_by(|a, b| b.saves.total_cmp(&a.saves));
        Ok(list)
    }

    /// Whether the settled cycle of a candidate keeps every band in every other tank.
    fn keeps_elsewhere(&self, i: usize) -> Result<bool, AppError> {
        for other in &self.request.also {
            let plan = other.with(&sets(self.ranges, &self.points[i]))?.scenario.plan;
            let settled = settle(&plan).map_err(|e| AppError::Usage(format!("{}: {e}", other.scenario.name)))?;
            if !keeps(&settled, &plan.bands) {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// The chance that a candidate keeps every band in another tank.
    fn in_another(&self, other: &Loaded, i: usize) -> Result<KeptChance, AppError> {
        let there = Search { loaded: other, ..*self };
        let plan = other.with(&sets(self.ranges, &self.points[i]))?.scenario.plan;
        let settled = settle(&plan).map_err(|e| AppError::Usage(format!("{}: {e}", other.scenario.name)))?;
        // Its own spreads, which hang together as they do, and what varies within a run where it does not say so itself.
        let (asked, mut own) = (&self.request.uncertainty, other.scenario.uncertainty.clone());
        if own.spreads.is_empty() {
            (own.spreads, own.correlation) = (asked.spreads.clone(), asked.correlation.clone());
        }
        own.day_to_day = own.day_to_day.or(asked.day_to_day);
        own.missed = own.missed.or(asked.missed);
        own.batch_error_psu = own.batch_error_psu.or(asked.batch_error_psu);
        own.kit_error = own.kit_error.or(asked.kit_error);
        let request = ChooseRequest { uncertainty: own, also: Vec::new(), ..self.request.clone() };
        Search { request: &request, ..there }.chance_of(i, &settled)
    }

    /// The chance that a candidate, long in force, keeps every band for the span.
    fn chance(&self, i: usize) -> Result<KeptChance, AppError> {
        self.chance_of(i, self.settled(i)?)
    }

    /// What a candidate settles to.
    fn settled(&self, i: usize) -> Result<&Settled, AppError> {
        self.judged[i].as_ref().map(|judged| &judged.settled).map_err(|why| AppError::Usage(why.to_string()))
    }

    /// The chance of a candidate that a few members rule out; nothing where they do not.
    fn first_look(&self, i: usize) -> Result<Option<KeptChance>, AppError> {
        let settled = self.settled(i)?;
        let begun = self.begun(&sets(self.ranges, &self.points[i]), settled)?;
        let first = FIRST_LOOK.min(self.request.members);
        let kept = self.trial(&begun, settled).kept(0, first)?;
        let most = chance_at_most(kept, usize::try_from(first).unwrap_or(usize::MAX), RULED_OUT);
        Ok((most < self.request.chance).then(|| counted(kept, first)))
    }

    /// The same of one that settles so.
    fn chance_of(&self, i: usize, settled: &Settled) -> Result<KeptChance, AppError> {
        let (asked, members) = (self.request.chance, self.request.members);
        let begun = self.begun(&sets(self.ranges, &self.points[i]), settled)?;
        let trial = self.trial(&begun, settled);
        // Many regimes are ruled out by those that find them, and what they let pass is told by others.
        let found = counted(trial.kept(0, members)?, members);
        if found.value < asked {
            return Ok(found);
        }
        let fresh = counted(trial.kept(FRESH, members)?, members);
        Ok(KeptChance { enough: fresh.at_least >= asked, ..fresh })
    }

    /// The regime from earlier on, long enough to forget how it was started: with how many days that are, and whether its
    /// members must begin in settled cycles of their own.
    fn begun(&self, regime: &[String], settled: &Settled) -> Result<(Loaded, u32, bool), AppError> {
        let uncertainty = &self.request.uncertainty;
        let half = settled.half_life_d.unwrap_or(settled.cycle_d);
        let forgets_d = (FORGOTTEN * half).min(LONGEST_D).ceil();
        // A series is not moved: what it says is of its own days.
        let of_series = self.loaded.scenario.plan.periods.iter().any(|p| p.of_series);
        let own_start = !uncertainty.spreads.is_empty() && (of_series || FORGOTTEN * half > LONGEST_D);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days, bounded above")]
        let before = if of_series { 0 } else { forgets_d as u32 };
        let mut loaded = self.loaded.begun_earlier(before, f64::from(before) + self.request.span_d, regime)?;
        // A row a day: the bands are looked at within it too.
        loaded.scenario.plan.output_every = Some(Duration::from_days(1.0));
        Ok((loaded, before, own_start))
    }
}

/// A chance as so many of so many members have it.
fn counted(kept: usize, of: u64) -> KeptChance {
    let count = usize::try_from(of).unwrap_or(usize::MAX);
    KeptChance {
        value: kept as f64 / count as f64,
        error: chance_error(kept, count),
        at_least: chance_at_least(kept, count, DOUBT),
        members: of,
        enough: false,
    }
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
