//! Many members of one timetable side by side: a column a quantity, a lane a member.
//!
//! Where a float holds the level, all that changes from day to day is the evaporation, and a segment is a few
//! multiplications a lane. A lane that meets something out of the ordinary is taken through that segment by
//! the exact step alone; one that meets what lanes do not know leaves, and its member is run by itself. What a
//! lane gives does not depend on the lanes beside it.

#![expect(clippy::inline_always, reason = "a loop is as wide as the function that it stands in is compiled for")]

mod events;
mod kernels;
mod member;
mod scalar_fallback;
mod wide;

pub use member::Timetable;

use super::event_queue::{EventQueue, SAME_INSTANT_D};
use super::flows::LEAST_SALT_PSU;
use super::{Crossings, EngineError, OutputGrid};
use crate::model::{Band, Coupling, Evaporation, Plan, Variable, VolumeLaw};
use crate::numerics::{Elementary, Recent, exprel};
use events::{Changes, Doses};
use kernels::{Column, Factors, MOST_OFF_LEVEL, Off};
use member::Member;
use scalar_fallback::ScalarFallback;
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
    queue: EventQueue,
    time: f64,
    /// Amounts now, where the segment began, and where in it the level was reached.
    amounts: Vec<Column>,
    before: Vec<Column>,
    between: Vec<Column>,
    /// Supply without top-off and evaporation, uptake taken off, and what a litre of top-off brings.
    base: Vec<Column>,
    fresh: Vec<Column>,
    /// First-order loss; the same and dilution with the level held; the largest of these \[1/d\].
    loss: Vec<Column>,
    lambda: Vec<Column>,
    fastest: Column,
    /// Tank water leaving, and the flow of the float's pump \[L/d\].
    out: Column,
    pump: Column,
    /// Kilograms of a litre of fresh water.
    fresh_kg: Column,
    /// The level that the float holds and within what, the operating level, and the rim \[L\].
    level: Column,
    tolerance: Column,
    mark: Column,
    rim: Column,
    /// What the top-off reservoir holds when full, and now \[L\].
    capacity: Column,
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
    evaporation: Evaporations,
    /// Evaporation \[L/d\].
    today: Column,
    /// Alkalinity that goes with nitrogen: in its place stands its sum with the nitrogen, and here it is by itself.
    coupling: Option<Coupling>,
    alkalinity: Column,
    /// Whether calcification takes calcium out of the salt in some lane: where there is hardly any, it is not for lanes.
    lays_down: bool,
    /// Solutes with an uptake in some lane.
    taking: Vec<usize>,
    changes: Vec<Changes>,
    doses: Vec<Doses>,
    bands: Vec<Edges>,
    crossings: Vec<Crossings>,
    /// Volume \[L\] and salinity \[psu\] of the amounts now.
    volume: Column,
    psu: Column,
    /// One over the volume of a row.
    per_litre: Column,
    /// Top-off with the level held \[L/d\], and what a segment draws \[L\].
    top: Column,
    drawn: Column,
    off: Off,
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

/// How evaporation goes from day to day.
enum Evaporations {
    /// Each day is as the first.
    Same,
    /// A row a day, in it the lanes: one midnight reads one row.
    Drawn(Column),
    /// Each lane knows its own.
    Known(Vec<Evaporation>),
}

impl Evaporations {
    fn new(lanes: Vec<Evaporation>) -> Self {
        if !lanes.iter().any(Evaporation::varies) {
            return Self::Same;
        }
        let drawn = lanes.iter().map(|e| if let Evaporation::Daily(days) = e { Some(&days[..]) } else { None });
        let Some(drawn) = drawn.collect::<Option<Vec<&[f64]>>>() else { return Self::Known(lanes) };
        let days = drawn.iter().map(|days| days.len()).max().unwrap_or(0);
        // The last day stays.
        let on = |day: usize| move |days: &&[f64]| days.get(day).or(days.last()).copied().unwrap_or(0.0);
        let mut rows = Vec::with_capacity(days * drawn.len());
        (0..days).for_each(|day| rows.extend(drawn.iter().map(on(day))));
        Self::Drawn(rows)
    }

    /// Puts the rates \[L/d\] of a day into `today`.
    fn put(&self, day: f64, today: &mut [f64]) {
        match self {
            Self::Same => {}
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days of a run")]
            Self::Drawn(rows) => {
                let mut rows = rows.chunks_exact(today.len().max(1));
                let last = rows.len().saturating_sub(1);
                if let Some(row) = rows.nth(last.min(day as usize)) {
                    today.copy_from_slice(row);
                }
            }
            Self::Known(lanes) => today.iter_mut().zip(lanes).for_each(|(today, e)| *today = e.on_day(day)),
        }
    }
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

fn columns(quantities: usize, members: &[Member], of: impl Fn(&Member, usize) -> f64) -> Vec<Column> {
    (0..quantities).map(|j| members.iter().map(|m| of(m, j)).collect()).collect()
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
        let column = |of: &dyn Fn(&Member) -> f64| members.iter().map(of).collect::<Column>();
        let columns = |of: &dyn Fn(&Member, usize) -> f64| columns(n, &members, of);
        let empty = || vec![0.0; count];
        let coupling = Coupling::of(&plan.species);
        let mut lanes = Self {
            queue: EventQueue::new(plan, &plan.regime, -2.0 * SAME_INSTANT_D),
            time: 0.0,
            amounts: columns(&|m, j| m.amounts[j]),
            before: vec![empty(); n],
            between: vec![empty(); n],
            base: columns(&|m, j| m.base[j]),
            fresh: columns(&|m, j| m.fresh[j]),
            loss: columns(&|m, j| m.loss[j]),
            lambda: columns(&|m, j| m.loss[j] + m.out / m.level),
            fastest: column(&|m| m.loss.iter().fold(0.0, |most: f64, loss| most.max(*loss)) + m.out / m.level),
            out: column(&|m| m.out),
            fresh_kg: column(&|m| m.fresh_kg_per_l),
            pump: column(&|m| m.pump),
            level: column(&|m| m.level),
            mark: column(&|m| m.mark),
            rim: column(&|m| m.rim),
            tolerance: column(&|m| m.tolerance),
            capacity: column(&|m| m.capacity),
            stock: column(&|m| m.capacity),
            laws: members.iter().map(|m| m.law).collect(),
            water_l: empty(),
            salt_l: empty(),
            rise: empty(),
            carried: empty(),
            low_psu: empty(),
            high_psu: empty(),
            salinity: members.first().map_or([0.0; 2], |m| m.law.salinity_weights()),
            today: column(&|m| m.evaporation.on_day(0.0)),
            taking: (0..n - 2).filter(|i| members.iter().any(|m| m.takes[*i])).collect(),
            doses: plan
                .regime
                .doses
                .iter()
                .enumerate()
                .map(|(i, dose)| Doses::new(i, dose, coupling.as_ref(), &members))
                .collect(),
            alkalinity: empty(),
            lays_down: members.iter().any(|m| m.lays_down),
            coupling,
            bands: edges(plan, count),
            crossings: vec![Crossings::new(&plan.bands); count],
            volume: empty(),
            psu: empty(),
            per_litre: empty(),
            top: empty(),
            drawn: empty(),
            off: Off { days: empty(), top: empty(), more: empty() },
            is_off: false,
            factors: Recent::default(),
            misfit: empty(),
            alone: None,
            segments: 0,
            singles: vec![0; count],
            gone: vec![false; count],
            left: Vec::new(),
            changes: Vec::new(),
            evaporation: Evaporations::Same,
        };
        let changes = plan.regime.changes.iter().enumerate();
        lanes.changes = changes.map(|(i, change)| Changes::new(i, change.fill, &mut members)).collect();
        lanes.evaporation = Evaporations::new(members.into_iter().map(|m| m.evaporation).collect());
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
            let next = self.queue.next().min(end);
            if next > self.time {
                self.segment(next - self.time);
                self.time = next;
            }
            self.rows(&mut grid, &mut rows);
            if self.queue.next() > end + SAME_INSTANT_D {
                return Ok(());
            }
            self.queue.take(self.time, &mut due);
            for act in &due {
                self.act(*act)?;
            }
        }
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
        let slot = self.factors(days);
        std::mem::swap(&mut self.amounts, &mut self.before);
        kernels::top_off(self, days);
        if self.is_off {
            kernels::way_to_level(self, days);
            kernels::off_level(self, slot);
            // What happens on the way to the level may be undone by the end.
            std::mem::swap(&mut self.amounts, &mut self.between);
            kernels::look(self);
            std::mem::swap(&mut self.amounts, &mut self.between);
        } else {
            kernels::held(self, slot);
        }
        kernels::look(self);
        if self.is_strained() {
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
        self.stock.iter_mut().zip(&self.drawn).for_each(|(stock, drawn)| *stock -= drawn);
        if self.is_off {
            self.look_at_level();
        }
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
        self.is_off =
            (0..self.count()).any(|l| !self.gone[l] && (self.volume[l] - self.level[l]).abs() > self.tolerance[l]);
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
            if self.lays_down && psu < LEAST_SALT_PSU + 1.0 {
                self.leave(l);
            }
        }
    }

    /// Takes over what follows from a lane's volume law.
    fn follow_law(&mut self, l: usize) {
        let law = &self.laws[l];
        (self.water_l[l], self.salt_l[l]) = (law.volumes.water, law.volumes.salt);
        self.rise[l] = law.volume(self.fresh[0][l], self.fresh[1][l]);
        self.carried[l] = law.volume(self.base[0][l], self.base[1][l]) - self.out[l];
        let (low, high) = law.holds_between();
        (self.low_psu[l], self.high_psu[l]) = (low.next_up(), high.next_down());
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
            (0..lanes.lambda.len()).map(|j| (0..lanes.count()).map(|l| of(j, l)).collect()).collect()
        };
        let keep = each(&|j, l| (-lanes.lambda[j][l] * days).to_exp());
        let once = each(&|j, l| days * exprel(-lanes.lambda[j][l] * days));
        let brought = each(&|j, l| once[j][l] * lanes.fresh[j][l]);
        Self {
            is_brought: brought.iter().map(|column| column.iter().any(|b| *b != 0.0)).collect(),
            given: each(&|j, l| once[j][l] * lanes.base[j][l]),
            brought,
            dried: (0..lanes.count()).map(|l| once[0][l] * lanes.fresh_kg[l]).collect(),
            keep,
        }
    }
}
