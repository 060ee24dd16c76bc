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
use crate::model::Plan;
use crate::numerics::{DOUBT, chance_at_least, chance_error};
use crate::results::{Candidate, KeptChance, Settled};
use crate::study::{Going, Judged, KeyRange, keeps, kept_each, started_settled, walk};
use crate::units::Duration;
use rayon::prelude::*;

/// Candidates checked by chance before the search ends.
pub(super) const MOST_CHECKS: usize = 400;

/// Members of a first look.
const FIRST_LOOK: u64 = 60;

/// Regimes that are looked at together.
const TOGETHER: usize = 8;

/// Doubt with which a first look rules a regime out.
const RULED_OUT: f64 = 1e-3;

/// Runners-up that are named.
pub(super) const RUNNERS_UP: usize = 3;

/// The first of the members that had no part in finding a regime.
const FRESH: u64 = 1 << 40;

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

/// A regime under uncertainty, from earlier on.
pub(super) struct Trial {
    loaded: Loaded,
    /// The plan as it begins.
    begin: Plan,
    /// Days before the bands are watched, in which a member forgets how it was started.
    forgets_d: u32,
    /// Whether members begin in settled cycles of their own.
    own_start: bool,
}

impl Trial {
    /// Puts a member at its begin: in the settled cycle of its regime.
    fn begins(&self, plan: &mut Plan) {
        let own = if self.own_start { settle(plan).ok() } else { None };
        let begin = own.map_or_else(|| self.begin.clone(), |settled| started_settled(plan, &settled));
        let tank = &mut plan.tank;
        (tank.salinity, tank.volume) = (begin.tank.salinity, begin.tank.volume);
        plan.species.iter_mut().zip(begin.species.iter()).for_each(|(own, begin)| own.initial = begin.initial);
    }

    /// Whether each of some members keeps every band.
    pub(super) fn each(&self, request: &ChooseRequest, first: u64, count: u64) -> Result<Vec<bool>, AppError> {
        let drawn = Members::new(&self.loaded, &request.uncertainty, request.seed);
        let member = |m: usize| drawn.plan_with(first + m as u64, &|plan| self.begins(plan));
        let count = usize::try_from(count).unwrap_or(usize::MAX);
        kept_each(self.forgets_d as usize, &self.loaded.scenario.plan, count, &member)
    }

    /// The chance that some members keep every band.
    fn chance(&self, request: &ChooseRequest, first: u64, count: u64) -> Result<KeptChance, AppError> {
        let each = self.each(request, first, count)?;
        let kept = each.iter().filter(|kept| **kept).count();
        Ok(KeptChance {
            value: kept as f64 / each.len() as f64,
            error: chance_error(kept, each.len()),
            at_least: chance_at_least(kept, each.len(), DOUBT),
            members: count,
            enough: false,
        })
    }

    /// Salinity and the solutes of some members when their bands begin to be watched: quantities, in them members.
    pub(super) fn at_begin(&self, request: &ChooseRequest, count: u64) -> Result<Vec<Vec<f64>>, AppError> {
        let mut plan = self.loaded.scenario.plan.clone();
        plan.horizon = Duration::from_days(f64::from(self.forgets_d).max(1.0));
        let mut last = vec![Vec::new(); plan.quantities().count()];
        let drawn = Members::new(&self.loaded, &request.uncertainty, request.seed);
        let horizon = plan.horizon;
        let member = |m: usize| {
            let own = drawn.plan_with(m as u64, &|plan| self.begins(plan))?;
            Ok::<Plan, AppError>(Plan { horizon, ..own })
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
            let look = |i: &usize| {
                let trial = self.trial_of(*i)?;
                Ok((self.first_look(&trial)?, trial))
            };
            let looks: Vec<(Option<KeptChance>, Trial)> = some.par_iter().map(look).collect::<Result<_, AppError>>()?;
            for (i, (refused, trial)) in some.iter().copied().zip(looks) {
                let mut chance = refused.map_or_else(|| self.chance(&trial), Ok)?;
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

    /// A candidate under uncertainty, with what it settles to.
    pub(super) fn trial_of(&self, i: usize) -> Result<Trial, AppError> {
        let settled = self.judged[i].as_ref().map(|judged| &judged.settled);
        self.trial(&sets(self.ranges, &self.points[i]), settled.map_err(|why| AppError::Usage(why.to_string()))?)
    }

    /// A regime from earlier on, long enough to forget how it was started.
    pub(super) fn trial(&self, regime: &[String], settled: &Settled) -> Result<Trial, AppError> {
        let half = settled.half_life_d.unwrap_or(settled.cycle_d);
        let forgets_d = (FORGOTTEN * half).min(LONGEST_D).ceil();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days, bounded above")]
        let (mut loaded, before) = self.loaded.begun_earlier(forgets_d as u32, self.request.span_d, regime)?;
        // A row a day: the bands are looked at within it too.
        loaded.scenario.plan.output_every = Some(Duration::from_days(1.0));
        let own_start = !self.request.uncertainty.spreads.is_empty() && f64::from(before) < FORGOTTEN * half;
        let plan = &loaded.scenario.plan;
        let begin = started_settled(plan, settle(plan).as_ref().unwrap_or(settled));
        Ok(Trial { begin, loaded, forgets_d: before, own_start })
    }

    /// A candidate's plan in another tank, and what it settles to.
    fn elsewhere(&self, other: &Loaded, i: usize) -> Result<(Plan, Settled), AppError> {
        let plan = other.with(&sets(self.ranges, &self.points[i]))?.scenario.plan;
        let settled = settle(&plan).map_err(|e| AppError::Usage(format!("{}: {e}", other.scenario.name)))?;
        Ok((plan, settled))
    }

    /// Whether the settled cycle of a candidate keeps every band in every other tank.
    fn keeps_elsewhere(&self, i: usize) -> Result<bool, AppError> {
        for other in &self.request.also {
            let (plan, settled) = self.elsewhere(other, i)?;
            if !keeps(&settled, &plan.bands) {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// The chance that a candidate keeps every band in another tank: by its own spreads, which hang together as they do.
    fn in_another(&self, other: &Loaded, i: usize) -> Result<KeptChance, AppError> {
        let uncertainty = other.scenario.uncertainty.completed_by(&self.request.uncertainty);
        let request = ChooseRequest { uncertainty, also: Vec::new(), ..self.request.clone() };
        let there = Search { loaded: other, request: &request, ..*self };
        let trial = there.trial(&sets(self.ranges, &self.points[i]), &self.elsewhere(other, i)?.1)?;
        there.chance(&trial)
    }

    /// The chance of a trial that a few members rule out; nothing where they do not.
    fn first_look(&self, trial: &Trial) -> Result<Option<KeptChance>, AppError> {
        let first = trial.chance(self.request, 0, FIRST_LOOK.min(self.request.members))?;
        Ok((first.at_most(RULED_OUT) < self.request.chance).then_some(first))
    }

    /// The chance that a regime, long in force, keeps every band for the span.
    fn chance(&self, trial: &Trial) -> Result<KeptChance, AppError> {
        let (asked, members) = (self.request.chance, self.request.members);
        // Many regimes are ruled out by those that find them, and what they let pass is told by others.
        let found = trial.chance(self.request, 0, members)?;
        if found.value < asked {
            return Ok(found);
        }
        let fresh = trial.chance(self.request, FRESH, members)?;
        Ok(KeptChance { enough: fresh.at_least >= asked, ..fresh })
    }
}
