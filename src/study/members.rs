//! Many members side by side through time: their values on the grid, a week of rows at a time.

use std::sync::OnceLock;

use rayon::prelude::*;

use super::Going;
use crate::engine::{
    Crossings, EngineError, Entrants, MemberBatch, Observer, OutputGrid, Row, Segment, Simulation, Timetable,
};
use crate::model::{Band, Id, Plan, SoluteId, Variable};
use crate::units::Duration;

/// Quantiles that are given.
pub const QUANTILES: [f64; 5] = [0.05, 0.25, 0.50, 0.75, 0.95];

/// Rows of the grid that are kept at a time: whole trajectories of many members would fill the memory.
const BLOCK_ROWS: usize = 7;
/// Members that one thread takes at a time: their columns fit the cache.
const GROUP: usize = 128;

/// Values of all members on some rows of the grid.
pub struct Block<'a> {
    /// Number of the first row.
    pub first_row: usize,
    /// How many rows.
    pub rows: usize,
    quantities: usize,
    members: usize,
    /// Rows, in them quantities, in them members.
    values: &'a [f64],
}

impl Block<'_> {
    /// Values of all members of a quantity (salinity first, then the solutes) on a row of the block;
    /// a member whose tank has run empty has none (NaN).
    #[must_use]
    pub fn cell(&self, row: usize, quantity: usize) -> &[f64] {
        let begin = (row * self.quantities + quantity) * self.members;
        &self.values[begin..begin + self.members]
    }

    /// What `of` makes of every cell: rows, in them quantities; in parallel.
    pub fn cells<T: Send>(&self, of: impl Fn(&[f64]) -> T + Send + Sync) -> Vec<T> {
        self.values.par_chunks(self.members).with_max_len(1).map(of).collect()
    }
}

/// Why the walk ended early.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum WalkError {
    /// A plan cannot be run.
    #[error(transparent)]
    Engine(#[from] EngineError),
    /// The caller asked to stop.
    #[error("stopped")]
    Stopped,
}

/// What became of a member, each with the day on which it first did \[d\].
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fate {
    /// It left a band: in the order of the plan's bands.
    pub left_d: Vec<Option<f64>>,
    /// The top-off reservoir ran dry.
    pub dry_d: Option<f64>,
    /// The level fell so low that the return pump drew air.
    pub starved_d: Option<f64>,
    /// Water went over the rim.
    pub spilled_d: Option<f64>,
}

/// Values on the grid (the first row at or after each time, so just before an event), and band crossings.
struct Sampler<'a> {
    grid: OutputGrid,
    out: &'a mut [Vec<f64>],
    crossings: &'a mut Crossings,
}

impl Observer for Sampler<'_> {
    fn row(&mut self, row: &Row<'_>) {
        self.crossings.row(row);
        while self.grid.take_due(row.time_d) {
            self.out[0].push(row.salinity_psu);
            for (i, column) in self.out[1..].iter_mut().enumerate() {
                column.push(row.value(Variable::Solute(SoluteId::of(i))));
            }
        }
    }
    fn looks_inside(&self) -> bool {
        true
    }
    fn segment(&mut self, segment: &mut Segment<'_>) {
        self.crossings.segment(segment);
    }
}

/// Rows of the grid of a plan: one at the start, and one every interval.
#[must_use]
pub fn grid_rows(plan: &Plan) -> usize {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of rows, bounded by the file")]
    let steps = (plan.horizon / interval(plan) + 1e-9).floor() as usize;
    steps + 1
}

/// Interval of the grid: that of the output, or a day.
#[must_use]
pub fn interval(plan: &Plan) -> Duration {
    plan.output_every.unwrap_or(Duration::from_days(1.0))
}

/// Walks members through time together and hands over their values block by block; gives what became of each.
///
/// All are made of one plan, `common`, with its horizon, grid and quantities; `member` makes the plan of each of
/// `count`, more than once where it must. Those that lanes can carry go side by side, the others by themselves. What
/// becomes of a member depends neither on the number of threads nor on the company.
pub fn walk<E: From<WalkError> + Send>(
    common: &Plan,
    count: usize,
    member: &(impl Fn(usize) -> Result<Plan, E> + Sync),
    going: Going<'_>,
    each: impl FnMut(&Block<'_>) -> Result<(), E>,
) -> Result<Vec<Fate>, E> {
    walk_watched_from(0, common, count, member, going, each)
}

/// The same with bands that are watched from a row of the grid on: what a member did before, to forget how it was started,
/// does not count; what becomes of its water does.
pub fn walk_watched_from<E: From<WalkError> + Send>(
    watched_from: usize,
    common: &Plan,
    count: usize,
    member: &(impl Fn(usize) -> Result<Plan, E> + Sync),
    going: Going<'_>,
    mut each: impl FnMut(&Block<'_>) -> Result<(), E>,
) -> Result<Vec<Fate>, E> {
    let (every, total) = (interval(common).days(), grid_rows(common));
    let quantities = common.species.len() + 1;
    let timetable = Timetable::new(&Plan { output_every: Some(interval(common)), ..common.clone() });
    // Few members keep a plan of their own.
    let plans: Vec<OnceLock<Box<Plan>>> = (0..count).map(|_| OnceLock::new()).collect();
    let begin_watching = (watched_from > 0).then_some(every * watched_from as f64);
    let mut groups: Vec<Group<'_>> = plans
        .par_chunks(GROUP)
        .with_max_len(1)
        .enumerate()
        .map(|(k, plans)| Group::new(&timetable, plans, begin_watching, &|i| member(k * GROUP + i)))
        .collect::<Result<_, E>>()?;
    let mut values = vec![0.0; BLOCK_ROWS.min(total) * quantities * count];
    let mut next = 0;
    while next < total && count > 0 {
        if !going(next as f64 / total as f64) {
            return Err(WalkError::Stopped.into());
        }
        let mut last = (next + BLOCK_ROWS).min(total);
        if (next..last).contains(&watched_from) {
            last = watched_from + 1;
        }
        let until = every * (last - 1) as f64;
        let grid = OutputGrid { every, next, last };
        let values = &mut values[..(last - next) * quantities * count];
        let mut parts: Vec<Vec<&mut [f64]>> = groups.iter().map(|_| Vec::new()).collect();
        for cell in values.chunks_mut(count) {
            parts.iter_mut().zip(cell.chunks_mut(GROUP)).for_each(|(part, own)| part.push(own));
        }
        groups
            .par_iter_mut()
            .zip(parts)
            .with_max_len(1)
            .enumerate()
            .try_for_each(|(k, (group, part))| group.advance(grid, until, part, &|i| member(k * GROUP + i)))?;
        each(&Block { first_row: next, rows: last - next, quantities, members: count, values })?;
        if watched_from > 0 && last == watched_from + 1 {
            groups.iter_mut().filter_map(|g| g.lanes.as_mut()).for_each(|lanes| lanes.watch_anew(common));
        }
        next = last;
    }
    // Past the last row of the grid there may be a rest of the run in which bands are left.
    let (no_rows, horizon) = (OutputGrid { every, next: total, last: total }, common.horizon.days());
    groups
        .par_iter_mut()
        .with_max_len(1)
        .enumerate()
        .try_for_each(|(k, group)| group.advance(no_rows, horizon, Vec::new(), &|i| member(k * GROUP + i)))?;
    Ok(groups.iter().flat_map(Group::fates).collect())
}

/// Members that follow one another, in lanes or alone.
struct Group<'a> {
    plans: &'a [OnceLock<Box<Plan>>],
    begin_watching: Option<f64>,
    /// Nothing where all have left.
    lanes: Option<MemberBatch>,
    /// The member of each lane.
    slots: Vec<usize>,
    alone: Vec<(usize, Walker<'a>)>,
}

impl<'a> Group<'a> {
    fn new<E: From<WalkError>>(
        timetable: &Timetable,
        plans: &'a [OnceLock<Box<Plan>>],
        begin_watching: Option<f64>,
        member: &dyn Fn(usize) -> Result<Plan, E>,
    ) -> Result<Self, E> {
        let mut entrants = Entrants::new(timetable);
        let (mut slots, mut alone) = (Vec::new(), Vec::new());
        // One plan after the other: its memory serves the next.
        for (i, own) in plans.iter().enumerate() {
            let plan = member(i)?;
            if plan.stop.is_set() {
                return Err(WalkError::Stopped.into());
            }
            if entrants.enter(&plan).map_err(WalkError::from)? {
                slots.push(i);
            } else {
                let own = own.get_or_init(|| Box::new(plan));
                alone.push((i, Walker::new(own, begin_watching).map_err(WalkError::from)?));
            }
        }
        let lanes = (!slots.is_empty()).then(|| entrants.start());
        Ok(Self { plans, begin_watching, lanes, slots, alone })
    }

    /// Runs until a time \[d\] for some rows, into `cells`: rows, in them quantities, of these members; a member whose
    /// lane has been given up is run anew, by itself.
    fn advance<E: From<WalkError>>(
        &mut self,
        grid: OutputGrid,
        until: f64,
        mut cells: Vec<&mut [f64]>,
        member: &dyn Fn(usize) -> Result<Plan, E>,
    ) -> Result<(), E> {
        if let Some(lanes) = &mut self.lanes {
            if self.slots.len() == self.plans.len() {
                lanes.run_until(until, grid, &mut cells).map_err(WalkError::from)?;
            } else {
                let mut values = vec![0.0; cells.len() * self.slots.len()];
                let mut own: Vec<&mut [f64]> = values.chunks_mut(self.slots.len()).collect();
                lanes.run_until(until, grid, &mut own).map_err(WalkError::from)?;
                for (cell, own) in cells.iter_mut().zip(own) {
                    self.slots.iter().zip(own).for_each(|(i, value)| cell[*i] = *value);
                }
            }
            for lane in lanes.take_left() {
                let i = self.slots[lane];
                let plan = member(i)?;
                let own = self.plans[i].get_or_init(|| Box::new(plan));
                self.alone.push((i, Walker::new(own, self.begin_watching).map_err(WalkError::from)?));
            }
        }
        if self.alone.len() == self.plans.len() {
            self.lanes = None;
            self.slots.clear();
        }
        for (i, walker) in &mut self.alone {
            walker.advance(grid, until).map_err(WalkError::from)?;
            for (k, row) in cells.chunks_mut(walker.block.len()).enumerate() {
                for (cell, values) in row.iter_mut().zip(&walker.block) {
                    cell[*i] = values.get(k).copied().unwrap_or(f64::NAN);
                }
            }
        }
        Ok(())
    }

    /// What became of each member.
    fn fates(&self) -> Vec<Fate> {
        let mut fates = vec![Fate::default(); self.plans.len()];
        if let Some(lanes) = &self.lanes {
            for (lane, i) in self.slots.iter().enumerate() {
                fates[*i] = Fate { left_d: lanes.left_at(lane), dry_d: lanes.dry_at(lane), ..Fate::default() };
            }
        }
        for (i, walker) in &self.alone {
            let tally = walker.simulation.tally();
            fates[*i] = Fate {
                left_d: walker.crossings.left_at(),
                dry_d: tally.reservoir_dry_d,
                starved_d: tally.starved_d,
                spilled_d: tally.spilled_d,
            };
        }
        fates
    }
}

/// A member by itself.
struct Walker<'a> {
    simulation: Simulation<'a>,
    started: bool,
    bands: &'a [Band],
    /// When its bands begin to be watched, as long as that is to come \[d\].
    begin_watching: Option<f64>,
    crossings: Crossings,
    block: Vec<Vec<f64>>,
}

impl<'a> Walker<'a> {
    fn new(plan: &'a Plan, begin_watching: Option<f64>) -> Result<Self, EngineError> {
        let simulation = Simulation::new(plan)?;
        let block = vec![Vec::new(); plan.species.len() + 1];
        let crossings = Crossings::new(&plan.bands);
        Ok(Self { simulation, started: false, bands: &plan.bands, begin_watching, crossings, block })
    }

    fn advance(&mut self, grid: OutputGrid, until: f64) -> Result<(), EngineError> {
        self.block.iter_mut().for_each(Vec::clear);
        let mut sampler = Sampler { grid, out: &mut self.block, crossings: &mut self.crossings };
        if !self.started {
            self.simulation.show("", &mut sampler);
            self.started = true;
        }
        if let Some(begin) = self.begin_watching.filter(|begin| *begin <= until) {
            self.simulation.run_until(begin, &mut sampler)?;
            *sampler.crossings = Crossings::new(self.bands);
            self.simulation.show("", sampler.crossings);
            self.begin_watching = None;
        }
        self.simulation.run_until(until, &mut sampler)
    }
}
