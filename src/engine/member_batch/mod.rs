//! Many members of one timetable side by side: a column a quantity, a lane a member.
//!
//! Where a float holds the level, all that changes from day to day is the evaporation, and a segment is a few
//! multiplications a lane ([`kernels`]); a float of two levels takes it in legs ([`two_levels`]). What is in force until the next
//! edge of a period stands apart ([`in_force`]). A lane that meets something out of the ordinary is taken through that segment by
//! the exact step alone; one that meets what lanes do not know leaves, and its member is run by itself. What a
//! lane gives does not depend on the lanes beside it.

#![expect(clippy::inline_always, reason = "a loop is as wide as the function that it stands in is compiled for")]

mod coupled;
mod events;
mod in_force;
mod kernels;
mod member;
mod scalar_fallback;
mod two_levels;
mod wide;

pub use member::Timetable;

use super::event_queue::SAME_INSTANT_D;
use super::flows::LEAST_SALT_PSU;
use super::{Crossings, EngineError, OutputGrid};
use crate::model::{Band, Coupling, Id, Plan, SoluteId, Variable, VolumeLaw};
use crate::numerics::{Elementary, Recent, exprel};
use coupled::Coupled;
use in_force::InForce;
use kernels::{Column, Factors, Off};
use member::{Member, stretches};
use scalar_fallback::ScalarFallback;
use std::collections::VecDeque;
use two_levels::TwoLevels;
use wide::Wide;

/// Segments whose lengths \[d\] differ by less are of one length.
const SAME_LENGTH_D: f64 = 1e-12;
/// Lengths of segments whose factors are kept.
const LENGTHS: usize = 16;

/// A lane that goes by itself through more segments than these, and than one in so many, is better run alone.
const FEW_SINGLES: u32 = 32;
const SELDOM: u32 = 16;

/// Members side by side. A column has a number for each lane; a list of them begins with water and salt \[kg\], and
/// the solutes follow.
pub struct MemberBatch {
    time: f64,
    /// What is done now, and from the next edge of a period on.
    force: InForce,
    later: VecDeque<InForce>,
    /// Amounts now, where the segment began, and where in it the level was reached.
    amounts: Vec<Column>,
    before: Vec<Column>,
    between: Vec<Column>,
    /// First-order loss \[1/d\].
    loss: Vec<Column>,
    /// Kilograms of a litre of fresh water.
    fresh_kg: Column,
    /// Within what the float holds its level, the operating level, and the rim \[L\].
    tolerance: Column,
    mark: Column,
    rim: Column,
    /// The level at which the return pump draws air \[L\]; none comes so low in a lane.
    starve: Column,
    /// What is in the top-off reservoir \[L\].
    stock: Column,
    /// The volume law, its litres per kilogram of water and of salt, and the salinities \[psu\] between which it need
    /// not be looked at.
    laws: Vec<VolumeLaw>,
    water_l: Column,
    salt_l: Column,
    low_psu: Column,
    high_psu: Column,
    /// Litres by which a litre of top-off raises the tank, and by which it rises in a day without top-off and
    /// evaporation.
    rise: Column,
    carried: Column,
    /// The practical salinity is the first of these times `S/(W + second·S)`.
    salinity: [f64; 2],
    /// Alkalinity that goes with nitrogen: in its place stands its sum with the nitrogen, and here it is by itself.
    coupling: Option<Coupling>,
    alkalinity: Column,
    /// What is known of it within a segment, where a band watches it.
    coupled: Option<Coupled>,
    /// Solutes with an uptake in some lane.
    taking: Vec<usize>,
    /// How often each lane has done each change, by its place in the regime.
    done: Vec<Vec<usize>>,
    bands: Vec<Edges>,
    crossings: Vec<Crossings>,
    /// When each reservoir first ran dry \[d\].
    dry_d: Vec<Option<f64>>,
    /// Volume \[L\] and salinity \[psu\] of the amounts now.
    volume: Column,
    psu: Column,
    /// One over the volume of a row.
    per_litre: Column,
    /// Top-off with the level held \[L/d\], and what a segment draws \[L\].
    top: Column,
    drawn: Column,
    off: Off,
    float: TwoLevels,
    /// Share of a value by which it may have been beyond the ends of a segment.
    slack: Column,
    /// Whether the level is off in some lane.
    is_off: bool,
    factors: Recent<f64, Factors, LENGTHS>,
    /// Above zero where a lane must be looked at by itself.
    misfit: Column,
    /// What singles need, once there has been one.
    alone: Option<Box<ScalarFallback>>,
    /// Segments so far, and those that each lane went through by itself.
    segments: u32,
    singles: Vec<u32>,
    /// Members that have left, and those that did so lately.
    gone: Vec<bool>,
    left: Vec<usize>,
}

/// The edges of a band that each lane has yet to leave.
struct Edges {
    of: Variable,
    low: Column,
    high: Column,
}

/// The edges of a plan's bands, in so many lanes.
fn edges(plan: &Plan, count: usize) -> Vec<Edges> {
    let edge = |edge: Option<f64>, open| vec![edge.unwrap_or(open); count];
    let of = |band: &Band| Edges {
        of: band.of,
        low: edge(band.low, f64::NEG_INFINITY),
        high: edge(band.high, f64::INFINITY),
    };
    plan.bands.iter().map(of).collect()
}

/// Members that are to go in lanes.
pub struct Entrants<'a> {
    timetable: &'a Timetable,
    members: Vec<Member>,
}

impl<'a> Entrants<'a> {
    /// None yet.
    #[must_use]
    pub const fn new(timetable: &'a Timetable) -> Self {
        Self { timetable, members: Vec::new() }
    }

    /// Takes a member in, in the next lane; `false` where its plan must run alone.
    pub fn enter(&mut self, plan: &Plan) -> Result<bool, EngineError> {
        let member = Member::of(self.timetable, plan)?;
        let is_in = member.is_some();
        self.members.extend(member);
        Ok(is_in)
    }

    /// The members at their start.
    #[must_use]
    pub fn start(self) -> MemberBatch {
        MemberBatch::of(self.timetable, self.members)
    }
}

impl MemberBatch {
    fn of(timetable: &Timetable, mut members: Vec<Member>) -> Self {
        let plan = &timetable.plan;
        let (n, count) = (plan.species.len() + 2, members.len());
        let coupling = Coupling::of(&plan.species);
        let stretches = stretches(plan);
        let mut force = |(place, stretch)| InForce::new(plan, stretch, place, coupling.as_ref(), &mut members);
        let first = force((0, &stretches[0]));
        let later = stretches.iter().enumerate().skip(1).map(force).collect();
        let column = |of: &dyn Fn(&Member) -> f64| members.iter().map(of).collect::<Column>();
        let columns = |of: &dyn Fn(&Member, usize) -> f64| -> Vec<Column> {
            (0..n).map(|j| members.iter().map(|m| of(m, j)).collect()).collect()
        };
        let empty = || vec![0.0; count];
        let is_watched = |c: &Coupling| plan.bands.iter().any(|b| b.of == Variable::Solute(SoluteId::of(c.alkalinity)));
        let mut lanes = Self {
            time: 0.0,
            force: first,
            later,
            amounts: columns(&|m, j| m.amounts[j]),
            before: vec![empty(); n],
            between: vec![empty(); n],
            loss: columns(&|m, j| m.loss[j]),
            fresh_kg: column(&|m| m.fresh_kg_per_l),
            mark: column(&|m| m.mark),
            rim: column(&|m| m.rim),
            starve: column(&|m| m.starve),
            dry_d: vec![None; count],
            tolerance: column(&|m| m.tolerance),
            stock: column(&|m| m.stock),
            laws: members.iter().map(|m| m.law).collect(),
            water_l: empty(),
            salt_l: empty(),
            rise: empty(),
            carried: empty(),
            low_psu: empty(),
            high_psu: empty(),
            salinity: members.first().map_or([0.0; 2], |m| m.law.salinity_weights()),
            taking: (0..n - 2).filter(|i| members.iter().any(|m| m.takes[*i])).collect(),
            alkalinity: empty(),
            coupled: coupling.as_ref().filter(|c| is_watched(c)).map(|c| Coupled::new(c, count)),
            coupling,
            done: vec![vec![0; count]; plan.regimes().map(|r| r.changes.len()).max().unwrap_or(0)],
            bands: edges(plan, count),
            crossings: vec![Crossings::new(&plan.bands); count],
            volume: empty(),
            psu: empty(),
            per_litre: empty(),
            top: empty(),
            drawn: empty(),
            off: Off { days: empty(), top: empty(), more: empty() },
            float: TwoLevels::new(count),
            slack: empty(),
            is_off: false,
            factors: Recent::default(),
            misfit: empty(),
            alone: None,
            segments: 0,
            singles: vec![0; count],
            gone: vec![false; count],
            left: Vec::new(),
        };
        (0..count).for_each(|l| lanes.follow_law(l));
        lanes.look_at_instant();
        lanes
    }

    /// How many lanes there are.
    #[must_use]
    pub fn count(&self) -> usize {
        self.laws.len()
    }

    /// The lanes that have met something that lanes do not know since this was last asked.
    pub fn take_left(&mut self) -> Vec<usize> {
        std::mem::take(&mut self.left)
    }

    /// When a lane first left each band \[d\], in the order of the plan's bands.
    #[must_use]
    pub fn left_at(&self, lane: usize) -> Vec<Option<f64>> {
        self.crossings[lane].left_at()
    }

    /// When the reservoir of a lane first ran dry \[d\]. Nothing spills in a lane, and no return pump draws air.
    #[must_use]
    pub fn dry_at(&self, lane: usize) -> Option<f64> {
        self.dry_d[lane]
    }

    /// Watches the bands of a plan, that of all members, anew from here on.
    pub fn watch_anew(&mut self, plan: &Plan) {
        let count = self.count();
        self.bands = edges(plan, count);
        self.crossings = vec![Crossings::new(&plan.bands); count];
        self.look_at_instant();
    }

    /// Runs until `end` \[d\], acts due at `end` included, and puts the rows of a grid on the way into `cells`, each
    /// as it is before what is due then: rows, in them quantities (salinity, then the solutes), in each the lanes. Rows
    /// for which `cells` have no room are passed over.
    pub fn run_until(&mut self, end: f64, grid: OutputGrid, cells: &mut [&mut [f64]]) -> Result<(), EngineError> {
        pulp::Arch::new().dispatch(Wide { lanes: self, end, grid, cells })
    }

    /// The same, compiled once for each kind of machine.
    #[inline(always)]
    fn run_wide(&mut self, end: f64, mut grid: OutputGrid, cells: &mut [&mut [f64]]) -> Result<(), EngineError> {
        let mut due = Vec::new();
        let mut rows = cells.chunks_exact_mut(self.amounts.len() - 1);
        self.rows(&mut grid, &mut rows);
        loop {
            let edge = self.later.front().map_or(f64::INFINITY, |later| later.from);
            let next = self.force.queue.next().min(edge).min(end);
            if next > self.time {
                self.segment(next - self.time);
                self.time = next;
            }
            self.rows(&mut grid, &mut rows);
            if edge <= self.time + SAME_INSTANT_D {
                self.turn_period();
            }
            if self.force.queue.next() > self.time + SAME_INSTANT_D {
                if self.time >= end {
                    return Ok(());
                }
                continue;
            }
            self.force.queue.take(self.time, &mut due);
            for act in &due {
                self.act(*act)?;
            }
        }
    }

    /// Turns to what is done from now on. What is due at this very instant is due by the new regime.
    fn turn_period(&mut self) {
        let Some(next) = self.later.pop_front() else { return };
        self.force = next;
        self.factors = Recent::default();
        // A smaller reservoir holds less.
        self.stock.iter_mut().zip(&self.force.capacity).for_each(|(stock, capacity)| *stock = stock.min(*capacity));
        (0..self.count()).for_each(|l| self.follow_law(l));
        self.look_at_instant();
    }

    /// Gives the rows that have come due.
    #[inline(always)]
    fn rows<'v, 'c: 'v>(&mut self, grid: &mut OutputGrid, rows: &mut impl Iterator<Item = &'v mut [&'c mut [f64]]>) {
        while grid.take_due(self.time) {
            if let Some(row) = rows.next() {
                kernels::give_row(self, row);
            }
        }
    }

    /// An interval between two instants at which something is due.
    #[inline(always)]
    fn segment(&mut self, days: f64) {
        self.segments += 1;
        std::mem::swap(&mut self.amounts, &mut self.before);
        self.float.before.copy_from_slice(&self.float.on);
        coupled::begin(self);
        if self.force.gap.is_some() {
            two_levels::segment(self, days);
        } else {
            self.of_one_level(days);
        }
        coupled::look(self);
        self.slack.fill(0.0);
        self.look_at_misfits(days);
        self.stock.iter_mut().zip(&self.drawn).for_each(|(stock, drawn)| *stock -= drawn);
        if self.is_off {
            self.look_at_level();
        }
    }

    /// With a float of one level, which holds it or comes to it.
    #[inline(always)]
    fn of_one_level(&mut self, days: f64) {
        let slot = self.factors(days);
        kernels::top_off(self, days);
        if self.is_off {
            kernels::way_to_level(self, days);
            kernels::off_level(self, slot);
            // What happens on the way to the level may be undone by the end.
            std::mem::swap(&mut self.amounts, &mut self.between);
            kernels::look(self);
            coupled::widen(self);
            std::mem::swap(&mut self.amounts, &mut self.between);
        } else {
            kernels::held(self, slot);
        }
        kernels::look(self);
        coupled::widen(self);
    }

    /// Takes the lanes that must be looked at by themselves through the segment again.
    #[inline(always)]
    fn look_at_misfits(&mut self, days: f64) {
        if !self.is_strained() {
            return;
        }
        let mut alone = self.alone.take().unwrap_or_else(|| Box::new(ScalarFallback::new(self.amounts.len() - 2)));
        for l in 0..self.count() {
            if Self::is_strain(self.misfit[l]) && !self.gone[l] {
                self.drawn[l] = 0.0;
                self.is_off = true;
                self.singles[l] += 1;
                let too_often = self.singles[l] > FEW_SINGLES + self.segments / SELDOM;
                if too_often || self.single(&mut alone, l, days).is_none() {
                    self.leave(l);
                }
                self.weigh(l);
                self.forget_left(l);
            }
        }
        self.alone = Some(alone);
    }

    /// Whether some lane must be looked at by itself.
    #[inline(always)]
    fn is_strained(&self) -> bool {
        self.misfit.iter().filter(|misfit| Self::is_strain(**misfit)).count() > 0
    }

    /// What is no number is a misfit too.
    fn is_strain(misfit: f64) -> bool {
        misfit > 0.0 || misfit.is_nan()
    }

    /// Where the factors for a length stand.
    fn factors(&mut self, days: f64) -> usize {
        let mut known = std::mem::take(&mut self.factors);
        let make = || (days, Factors::new(days, self));
        let slot = known.place_of(|length| (length - days).abs() <= SAME_LENGTH_D, make);
        self.factors = known;
        slot
    }

    /// Whether the level is off in any lane.
    #[inline(always)]
    fn look_at_level(&mut self) {
        // A float of two levels is never held to one.
        self.is_off = self.force.gap.is_none()
            && (0..self.count())
                .any(|l| !self.gone[l] && (self.volume[l] - self.force.level[l]).abs() > self.tolerance[l]);
    }

    /// Volume and salinity of one lane.
    fn weigh(&mut self, l: usize) {
        let (water, salt) = (self.amounts[0][l], self.amounts[1][l]);
        self.volume[l] = self.laws[l].volume(water, salt);
        self.psu[l] = self.laws[l].salinity_psu(water, salt);
    }

    /// Renews the volume law of a lane where its salinity has moved.
    fn renew_law(&mut self, l: usize, water: f64, salt: f64) {
        let psu = self.laws[l].salinity_psu(water, salt);
        if let Some(law) = self.laws[l].renewed(crate::units::PracticalSalinity::from_psu(psu)) {
            self.laws[l] = law;
            self.follow_law(l);
        }
        if self.force.lays_down && psu < LEAST_SALT_PSU + 1.0 {
            self.leave(l);
        }
    }

    /// Takes over what follows from a lane's volume law.
    fn follow_law(&mut self, l: usize) {
        let law = &self.laws[l];
        (self.water_l[l], self.salt_l[l]) = (law.volumes.water, law.volumes.salt);
        let force = &self.force;
        self.rise[l] = law.volume(force.fresh[0][l], force.fresh[1][l]);
        self.carried[l] = law.volume(force.base[0][l], force.base[1][l]) - force.out[l];
        let (low, high) = law.holds_between();
        // Below the least salt calcification may find nothing: that is no law's edge, but a lane's.
        let least = if force.lays_down { LEAST_SALT_PSU } else { f64::NEG_INFINITY };
        (self.low_psu[l], self.high_psu[l]) = (low.next_up().max(least), high.next_down());
    }

    /// Stops watching the bands that a lane has left.
    fn forget_left(&mut self, l: usize) {
        for (band, left) in self.bands.iter_mut().zip(self.crossings[l].left_at()) {
            if left.is_some() {
                (band.low[l], band.high[l]) = (f64::NEG_INFINITY, f64::INFINITY);
            }
        }
    }

    /// Gives a lane up: its member is for others to run.
    fn leave(&mut self, l: usize) {
        if !self.gone[l] {
            self.gone[l] = true;
            self.left.push(l);
        }
    }
}

impl Factors {
    /// The factors of a segment of `days` with the level held.
    fn new(days: f64, lanes: &MemberBatch) -> Self {
        let each = |of: &dyn Fn(usize, usize) -> f64| -> Vec<Column> {
            (0..lanes.force.lambda.len()).map(|j| (0..lanes.count()).map(|l| of(j, l)).collect()).collect()
        };
        let keep = each(&|j, l| (-lanes.force.lambda[j][l] * days).to_exp());
        let once = each(&|j, l| days * exprel(-lanes.force.lambda[j][l] * days));
        let brought = each(&|j, l| once[j][l] * lanes.force.fresh[j][l]);
        Self {
            is_brought: brought.iter().map(|column| column.iter().any(|b| *b != 0.0)).collect(),
            given: each(&|j, l| once[j][l] * lanes.force.base[j][l]),
            brought,
            dried: (0..lanes.count()).map(|l| once[0][l] * lanes.fresh_kg[l]).collect(),
            keep,
        }
    }
}
