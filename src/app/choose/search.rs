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
use crate::numerics::{chance_at_least, chance_at_most, chance_error};
use crate::results::{Candidate, KeptChance};
use crate::study::{Going, Judged, KeyRange, count_kept, started_settled};
use crate::units::Duration;

/// Candidates checked by chance before the search ends.
pub(super) const MOST_CHECKS: usize = 400;

/// Members of a first look.
const FIRST_LOOK: u64 = 60;

/// Doubt with which a first look rules a regime out.
const RULED_OUT: f64 = 1e-3;

/// Doubt of the lower bound on which a regime is taken.
pub(super) const DOUBT: f64 = 0.05;

/// Runners-up that are named.
pub(super) const RUNNERS_UP: usize = 3;

/// The first of the members that had no part in finding a regime.
const FRESH: u64 = 1 << 40;

/// Half-lives after which a member has forgotten how it was started: a sixty-fourth of that is left.
const FORGOTTEN: f64 = 6.0;

/// Longest time that members are run for that \[d\]; beyond it each begins in a settled cycle of its own.
const LONGEST_D: f64 = 730.0;

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
    /// How many of some members keep every band.
    fn kept(&self, first: u64, count: u64) -> Result<usize, AppError> {
        let begins = |plan: &mut Plan| {
            let own = if self.own_start { settle(plan).ok() } else { None };
            let begin = own.map_or_else(|| self.begin.clone(), |settled| started_settled(plan, &settled));
            let tank = &mut plan.tank;
            (tank.salinity, tank.volume) = (begin.tank.salinity, begin.tank.volume);
            plan.species.iter_mut().zip(begin.species.iter()).for_each(|(own, begin)| own.initial = begin.initial);
        };
        let member = |m: usize| self.members.plan_with(first + m as u64, &begins);
        count_kept(
            self.forgets_d as usize,
            &self.loaded.scenario.plan,
            usize::try_from(count).unwrap_or(usize::MAX),
            &member,
        )
    }
}

impl Search<'_> {
    /// The regimes that are taken, least first; what was found of those that were tried is put down.
    pub(super) fn confirmed(&self, candidates: &mut [Candidate], going: Going<'_>) -> Result<Vec<usize>, AppError> {
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
            order.truncate(1 + RUNNERS_UP);
            return Ok(order);
        }
        let mut found = Vec::new();
        for (k, i) in order.iter().copied().take(MOST_CHECKS).enumerate() {
            if !going(0.5 + 0.5 * k as f64 / order.len().min(MOST_CHECKS) as f64) {
                return Err(AppError::Stopped);
            }
            let chance = self.chance(i)?;
            candidates[i].chance = Some(chance);
            if chance.enough {
                found.push(i);
                if found.len() > RUNNERS_UP {
                    break;
                }
            }
        }
        Ok(found)
    }

    /// The chance that a candidate, long in force, keeps every band for the span.
    fn chance(&self, i: usize) -> Result<KeptChance, AppError> {
        let of = |kept: usize, of: u64| {
            let count = usize::try_from(of).unwrap_or(usize::MAX);
            let at_least = chance_at_least(kept, count, DOUBT);
            KeptChance {
                value: kept as f64 / count as f64,
                error: chance_error(kept, count),
                at_least,
                members: of,
                enough: false,
            }
        };
        let Ok(judged) = &self.judged[i] else { return Ok(of(0, 1)) };
        let (asked, members) = (self.request.chance, self.request.members);
        let (loaded, forgets_d, own_start) = self.begun(&sets(self.ranges, &self.points[i]), judged)?;
        let begin = settle(&loaded.scenario.plan).map_or_else(
            |_| started_settled(&loaded.scenario.plan, &judged.settled),
            |settled| started_settled(&loaded.scenario.plan, &settled),
        );
        let drawn = Members::new(&loaded, &self.request.uncertainty, self.request.seed);
        let trial = Trial { loaded: &loaded, members: drawn, begin, forgets_d, own_start };
        // Most regimes are ruled out by a first look at a few members, the others by whoever finds them.
        let first = FIRST_LOOK.min(members);
        let kept = trial.kept(0, first)?;
        if chance_at_most(kept, usize::try_from(first).unwrap_or(usize::MAX), RULED_OUT) < asked {
            return Ok(of(kept, first));
        }
        let found = of(trial.kept(0, members)?, members);
        if found.value < asked {
            return Ok(found);
        }
        let fresh = of(trial.kept(FRESH, members)?, members);
        Ok(KeptChance { enough: fresh.at_least >= asked, ..fresh })
    }

    /// The regime from earlier on, long enough to forget how it was started: with how many days that are, and whether its
    /// members must begin in settled cycles of their own.
    fn begun(&self, regime: &[String], judged: &Judged) -> Result<(Loaded, u32, bool), AppError> {
        let uncertainty = &self.request.uncertainty;
        let half = judged.settled.half_life_d.unwrap_or(judged.settled.cycle_d);
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
