//! Many members side by side through time: their values on the grid, a fortnight at a time.

use rayon::prelude::*;

use super::Going;
use crate::engine::{Crossings, EngineError, Observer, Row, Segment, Simulation};
use crate::model::{Plan, Watched};
use crate::units::Duration;

/// Quantiles that are given.
pub const QUANTILES: [f64; 5] = [0.05, 0.25, 0.50, 0.75, 0.95];

/// Rows of the grid that are kept at a time: whole trajectories of many members would fill the memory.
const BLOCK_ROWS: usize = 14;
/// Members that one thread takes at a time.
const CHUNK: usize = 64;

/// Values of all members on some rows of the grid.
#[derive(Clone, Debug)]
pub struct Block {
    /// Number of the first row.
    pub first_row: usize,
    /// How many rows.
    pub rows: usize,
    quantities: usize,
    members: usize,
    values: Vec<f64>,
}

impl Block {
    /// Values of all members of a quantity (salinity first, then the solutes) on a row of the block;
    /// a member whose tank has run empty has none (NaN).
    #[must_use]
    pub fn cell(&self, row: usize, quantity: usize) -> &[f64] {
        let begin = (row * self.quantities + quantity) * self.members;
        &self.values[begin..begin + self.members]
    }

    /// All values: rows, in them quantities, in them members.
    #[must_use]
    pub fn values(&self) -> &[f64] {
        &self.values
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

/// Values on the grid (the first row at or after each time, so just before an event), and band crossings.
struct Sampler<'a> {
    every: f64,
    next: usize,
    last: usize,
    out: &'a mut [Vec<f64>],
    crossings: &'a mut Crossings,
}

impl Observer for Sampler<'_> {
    fn row(&mut self, row: &Row<'_>) {
        self.crossings.row(row);
        while self.next < self.last && row.time_d >= self.every * self.next as f64 - 1e-9 {
            self.out[0].push(row.salinity_psu);
            for (i, column) in self.out[1..].iter_mut().enumerate() {
                column.push(row.value(Watched::Solute(i)));
            }
            self.next += 1;
        }
    }
    fn looks_inside(&self) -> bool {
        true
    }
    fn wants_words(&self) -> bool {
        false
    }
    fn segment(&mut self, segment: &mut Segment<'_>) {
        self.crossings.segment(segment);
    }
}

struct Walker<'a> {
    simulation: Simulation<'a>,
    crossings: Crossings,
    block: Vec<Vec<f64>>,
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

/// Walks all plans through time together and hands over their values block by block; gives when each
/// member left each band \[d\], in the order of the plan's bands.
///
/// The plans share horizon, grid and quantities. Each is stepped by itself, so the answer depends
/// neither on the number of threads nor on the company.
pub fn walk<E: From<WalkError>>(
    plans: &[Plan],
    going: Going<'_>,
    mut each: impl FnMut(&Block) -> Result<(), E>,
) -> Result<Vec<Vec<Option<f64>>>, E> {
    let Some(first) = plans.first() else { return Ok(Vec::new()) };
    let (every, total) = (interval(first).days(), grid_rows(first));
    let quantities = first.species.len() + 1;
    let mut walkers: Vec<Walker<'_>> = plans
        .par_iter()
        .map(|plan| {
            let mut simulation = Simulation::new(plan)?;
            simulation.without_books();
            let crossings = Crossings::new(&plan.bands);
            Ok(Walker { simulation, crossings, block: vec![Vec::new(); quantities] })
        })
        .collect::<Result<_, EngineError>>()
        .map_err(WalkError::from)?;
    let mut block = Block { first_row: 0, rows: 0, quantities, members: plans.len(), values: Vec::new() };
    let mut next = 0;
    while next < total {
        if !going(next as f64 / total as f64) {
            return Err(WalkError::Stopped.into());
        }
        let last = (next + BLOCK_ROWS).min(total);
        // Past the last row of the grid there may be a rest of the run in which bands are left.
        let until = if last == total { first.horizon.days() } else { every * (last - 1) as f64 };
        walkers
            .par_chunks_mut(CHUNK)
            .try_for_each(|chunk| chunk.iter_mut().try_for_each(|w| w.advance(every, next, last, until)))
            .map_err(WalkError::from)?;
        (block.first_row, block.rows) = (next, last - next);
        block.values.resize(block.rows * quantities * plans.len(), 0.0);
        block.values.par_chunks_mut(plans.len()).enumerate().for_each(|(k, cell)| {
            let (row, quantity) = (k / quantities, k % quantities);
            for (value, walker) in cell.iter_mut().zip(&walkers) {
                *value = walker.block[quantity].get(row).copied().unwrap_or(f64::NAN);
            }
        });
        each(&block)?;
        next = last;
    }
    Ok(walkers.iter().map(|w| w.crossings.left_at()).collect())
}

impl Walker<'_> {
    fn advance(&mut self, every: f64, next: usize, last: usize, until: f64) -> Result<(), EngineError> {
        self.block.iter_mut().for_each(Vec::clear);
        let mut sampler = Sampler { every, next, last, out: &mut self.block, crossings: &mut self.crossings };
        if next == 0 {
            self.simulation.show("", &mut sampler);
        }
        self.simulation.run_until(until, &mut sampler)
    }
}
