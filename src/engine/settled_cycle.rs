//! The settled cycle: the fixed point of one cycle of the regime.
//!
//! Over one cycle of a periodic regime the water, the salt and the solutes at its end are an affine
//! map `z → A z + b` of those at its start. The fixed point solves
//! `(I − A) z = b`; `A` is read off runs of one cycle from displaced starts. Where an uptake
//! reaches zero or the volume law is renewed the map is affine by pieces, and the solve is
//! repeated from the new point (Newton) until the cycle closes. The spectral radius of `A` gives
//! the time to settle.

use crate::numerics::Elementary;
use nalgebra::{DMatrix, DVector, Matrix2, Vector2};

use super::event_queue::SAME_INSTANT_D;
use super::flows::LEVEL_TOLERANCE;
use super::{EngineError, Nothing, Observer, Simulation, Statistics};
use crate::model::{Amounts, BEFORE_SOLUTES, Coupling, Id, Plan, Schedule, SoluteId, Timing, Variable};
use crate::results::{Settled, SettledSolute};

/// Why a regime has no settled cycle.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SettleError {
    /// It does not repeat.
    #[error("what is done never repeats: {0}")]
    NotPeriodic(String),
    /// The cycle is too long to be of use.
    #[error("the intervals have no common cycle within {LONGEST_CYCLE_D} d")]
    TooLong,
    /// The level does not come back.
    #[error(
        "the water level is not the same after each cycle: something adds or takes more water than the top-off makes up"
    )]
    Level,
    /// Something has no way out.
    #[error("nothing takes {0} out, so it never settles")]
    NoWayOut(String),
    /// The fixed point is out of reach of the model.
    #[error("the settled state would be outside the model: {0}")]
    Outside(String),
    /// The iteration did not close.
    #[error("the settled cycle was not found in {MOST_ROUNDS} rounds")]
    NotFound,
    /// The plan cannot be run.
    #[error(transparent)]
    Engine(#[from] EngineError),
}

/// Longest common cycle \[d\].
const LONGEST_CYCLE_D: f64 = 400.0;
/// Cycles after which the level must have come back.
const LEVEL_CYCLES: usize = 60;
/// Newton rounds.
const MOST_ROUNDS: usize = 30;
/// Relative distance at which the cycle counts as closed.
const CLOSED: f64 = 1e-12;
/// A singular value below this is the reading of the map's own error, for a direction that does not move.
const SINGULAR: f64 = 3e-6;
/// An eigenvalue this close to 1 does not decay.
const NEVER: f64 = 1e-9;

/// Finds the settled cycle of a plan whose regime repeats, without disturbances.
pub(super) fn settled_cycle(plan: &Plan) -> Result<Settled, SettleError> {
    let (cycle, begin) = cycle(plan)?;
    let level = level(plan, cycle, begin)?;
    let simulation = Simulation::at(plan, begin, level.amounts.clone(), level.reservoir)?;
    let mut finder = Finder { plan, cycle, begin, level, simulation };
    let (z, a) = finder.fixed_point()?;
    finder.report(&z, &a)
}

/// Length of the cycle, and a time from which all schedules repeat with it.
fn cycle(plan: &Plan) -> Result<(f64, f64), SettleError> {
    let regime = &plan.regime;
    let not = |why: &str| Err(SettleError::NotPeriodic(why.into()));
    if regime.reading.as_ref().is_some_and(|r| r.correction.is_some()) {
        return not("salinity is corrected by readings");
    }
    let mut schedules: Vec<&Schedule> = Vec::new();
    for change in &regime.changes {
        match &change.timing {
            Timing::Scheduled(schedule) => schedules.push(schedule),
            Timing::Triggered(_) => return not("changes wait for a reading"),
        }
    }
    if let Some(schedule) = regime.top_off.at_times() {
        schedules.push(schedule);
    }
    schedules.extend(regime.top_off.reservoir.as_ref().map(|r| &r.refill));
    schedules.extend(regime.doses.iter().map(|d| &d.schedule));
    let (mut periods, mut begin) = (Vec::new(), 0.0f64);
    periods.extend(regime.by_day.map(|_| 1.0));
    for schedule in schedules {
        match schedule {
            Schedule::Never => {}
            Schedule::Listed(times) if times.is_empty() => {}
            Schedule::Listed(_) => return not("something is done on listed dates"),
            Schedule::Periodic { offsets, period } => {
                if *period > LONGEST_CYCLE_D {
                    return Err(SettleError::TooLong);
                }
                periods.push(*period);
                begin = offsets.iter().fold(begin, |m, o| m.max(*o));
            }
        }
    }
    Ok((common_period(&periods).ok_or(SettleError::TooLong)?, begin))
}

/// The shortest time \[d\] after which all of some periods begin together again; a day where there is none.
fn common_period(periods: &[f64]) -> Option<f64> {
    let longest = periods.iter().copied().reduce(f64::max).unwrap_or(1.0);
    let fits = |length: f64| periods.iter().all(|p| (length - (length / p).round() * p).abs() <= SAME_INSTANT_D);
    let mut times = 1.0;
    while longest > 0.0 && times * longest <= LONGEST_CYCLE_D {
        if fits(times * longest) {
            return Some(times * longest);
        }
        times += 1.0;
    }
    None
}

/// For each solute the first of those that it is made from, moves or turns into, directly or not.
fn chains(plan: &Plan) -> Vec<usize> {
    let mut chain: Vec<usize> = (0..plan.species.len()).collect();
    let turned = plan.species.iter().enumerate().filter_map(|(i, species)| Some((i, species.conversion?.into.place())));
    let coupling = Coupling::of(&plan.species);
    let moved = coupling.iter().flat_map(|c| c.parts.iter().map(|(i, _)| (*i, c.alkalinity)));
    for (one, other) in turned.chain(moved) {
        let (a, b) = (chain[one].min(chain[other]), chain[one].max(chain[other]));
        chain.iter_mut().filter(|c| **c == b).for_each(|c| *c = a);
    }
    chain
}

/// The tank and its reservoir at the start of a cycle, once the level repeats.
struct Level {
    amounts: Amounts,
    reservoir: f64,
}

fn level(plan: &Plan, cycle: f64, begin: f64) -> Result<Level, SettleError> {
    let mut simulation = Simulation::new(plan)?;
    simulation.run_until(begin, &mut Nothing)?;
    let mut end = begin;
    let operating = plan.tank.operating.litres();
    for _ in 0..LEVEL_CYCLES {
        let (volume, reservoir) = (simulation.volume_l(), simulation.reservoir_l());
        end += cycle;
        simulation.run_until(end, &mut Nothing)?;
        if simulation.tally().empty_d.is_some() {
            return Err(SettleError::Level);
        }
        let moved = (simulation.volume_l() - volume).abs();
        let drawn = if reservoir.is_finite() { (simulation.reservoir_l() - reservoir).abs() } else { 0.0 };
        // Salinity that is still on its way moves the level by parts in a million.
        if moved <= 1e-5 * operating && drawn <= 1e-5 * operating {
            return Ok(Level { amounts: simulation.amounts().clone(), reservoir });
        }
    }
    Err(SettleError::Level)
}

/// Moduli of the eigenvalues of the map. Water and salt move each other; a solute moves neither, and of the solutes only
/// those that are made from it, in a chain without rings. So in the order of making the matrix is triangular but for
/// its first two rows, and the eigenvalues are those of that corner and the diagonal.
fn moduli(a: &DMatrix<f64>) -> impl Iterator<Item = f64> {
    let half_trace = 0.5 * (a[(0, 0)] + a[(1, 1)]);
    let determinant = a[(0, 0)] * a[(1, 1)] - a[(0, 1)] * a[(1, 0)];
    let square = half_trace * half_trace - determinant;
    let corner = if square >= 0.0 {
        [(half_trace + square.sqrt()).abs(), (half_trace - square.sqrt()).abs()]
    } else {
        [determinant.sqrt(); 2]
    };
    corner.into_iter().chain((2..a.nrows()).map(|j| a[(j, j)].abs()))
}

struct Finder<'a> {
    plan: &'a Plan,
    cycle: f64,
    begin: f64,
    level: Level,
    simulation: Simulation<'a>,
}

impl Finder<'_> {
    /// One cycle from the amounts `z`.
    fn map(&mut self, z: &DVector<f64>, observer: &mut dyn Observer) -> Result<DVector<f64>, SettleError> {
        let simulation = &mut self.simulation;
        simulation.put_back(self.begin, &z.as_slice().to_vec().into(), self.level.reservoir)?;
        if observer.looks_inside() {
            simulation.show("", observer);
        }
        simulation.run_until(self.begin + self.cycle, observer)?;
        Ok(DVector::from_column_slice(simulation.amounts().row()))
    }

    /// The matrix of the map at `z`, whose image is `image`.
    ///
    /// Water and salt move everything and are displaced alone. Solutes of different chains do not know
    /// of each other, so one of each chain can be displaced at once and read apart (Curtis, Powell &
    /// Reid 1974, J. Inst. Maths Applics 13:117-119).
    fn matrix(&mut self, z: &DVector<f64>, image: &DVector<f64>) -> Result<DMatrix<f64>, SettleError> {
        let n = z.len();
        let chain = chains(self.plan);
        let mut place = vec![0; n - 2];
        for i in 0..n - 2 {
            place[i] = (0..i).filter(|k| chain[*k] == chain[i]).count();
        }
        let together = place.iter().max().map_or(0, |m| m + 1);
        let alone = (0..2).map(|j| vec![j]);
        let groups = alone.chain((0..together).map(|p| (2..n).filter(|j| place[j - 2] == p).collect()));
        let mut a = DMatrix::zeros(n, n);
        for group in groups {
            let mut moved = z.clone();
            for &j in &group {
                moved[j] += self.displacement(j, z[j]);
            }
            let difference = self.map(&moved, &mut Nothing)? - image;
            for &j in &group {
                let by = moved[j] - z[j];
                for i in 0..n {
                    if j < 2 || i >= 2 && chain[i - 2] == chain[j - 2] {
                        a[(i, j)] = difference[i] / by;
                    }
                }
            }
        }
        Ok(a)
    }

    /// By how much an amount is displaced to read the map: little enough that an uptake which reaches
    /// zero in the cycle still does, and enough that rounding does not show.
    ///
    /// A top-off makes good what is missing and not what is too much, so water and salt are displaced to the side
    /// on which it holds the level: on the other a cycle without evaporation repeats at any level.
    fn displacement(&self, j: usize, amount: f64) -> f64 {
        // Without one there is no such edge, and a smaller step reads the direction that does not move exactly.
        let share = if self.restores_level() { [-1e-4, -1e-3] } else { [1e-6, 1e-6] };
        match j {
            0 => share[0] * amount,
            1 if amount > 1e-6 => share[1] * amount,
            1 => 1e-9,
            _ => 1e-4 * amount + 1e-6 * self.litres(),
        }
    }

    /// Whether something brings the level back when it is low.
    fn restores_level(&self) -> bool {
        self.plan.regime.top_off.restores_level()
    }

    fn litres(&self) -> f64 {
        self.plan.tank.operating.litres()
    }

    /// The fixed point and the matrix there.
    fn fixed_point(&mut self) -> Result<(DVector<f64>, DMatrix<f64>), SettleError> {
        let n = self.level.amounts.row().len();
        let mut z = DVector::from_column_slice(self.level.amounts.row());
        for _ in 0..MOST_ROUNDS {
            let image = self.map(&z, &mut Nothing)?;
            let a = self.matrix(&z, &image)?;
            let step = self.solve(&a, &(&image - &z))?;
            let size: Vec<f64> = (0..n).map(|j| z[j].abs().max(image[j].abs()).max(1e-9 * self.litres())).collect();
            z += &step;
            let below = Coupling::of(&self.plan.species).map(|c| c.alkalinity + 2);
            for (_, amount) in z.iter_mut().enumerate().skip(2).filter(|(j, _)| Some(*j) != below) {
                *amount = amount.max(0.0);
            }
            inside(z.as_slice())?;
            if (0..n).all(|j| step[j].abs() <= CLOSED.sqrt() * size[j]) {
                let again = self.map(&z, &mut Nothing)?;
                // The float lets the level be within its tolerance, so that the water need not repeat to the last bit.
                let slack = |j: usize| if j == 0 { 0.1 * LEVEL_TOLERANCE * self.litres() } else { 0.0 };
                if (0..n).all(|j| (again[j] - z[j]).abs() <= slack(j).max(10.0 * CLOSED * size[j].max(z[j].abs()))) {
                    return Ok((z, a));
                }
            }
        }
        Err(SettleError::NotFound)
    }

    fn solve(&self, a: &DMatrix<f64>, distance: &DVector<f64>) -> Result<DVector<f64>, SettleError> {
        let n = a.nrows();
        let stuck: Vec<usize> = (0..n)
            .filter(|j| (1.0 - a[(*j, *j)]).abs() < NEVER && distance[*j].abs() > NEVER * self.litres())
            .collect();
        if stuck.contains(&0) {
            return Err(SettleError::Level);
        }
        if !stuck.is_empty() {
            let names: Vec<String> = stuck.into_iter().map(|j| self.name(j)).collect();
            return Err(SettleError::NoWayOut(names.join(" and ")));
        }
        // What neither comes nor goes keeps what it has.
        let mut system = DMatrix::identity(n, n) - a;
        for j in 0..n {
            if system[(j, j)].abs() < NEVER {
                system[(j, j)] = 1.0;
            }
        }
        let nowhere = || SettleError::NoWayOut("something".into());
        if self.restores_level() {
            return system.lu().solve(distance).ok_or_else(nowhere);
        }
        // Where nothing restores the level any level may repeat: water and salt, which know nothing of the solutes,
        // take the least step, measured by their own amounts, and the solutes follow.
        let size = [self.level.amounts.water_kg(), self.level.amounts.salt_kg().max(1e-9 * self.litres())];
        let block = Matrix2::from_fn(|i, j| system[(i, j)] * size[j] / size[i]);
        let apart = Vector2::from_fn(|i, _| distance[i] / size[i]);
        let scaled = block.svd(true, true).solve(&apart, SINGULAR).map_err(|_| nowhere())?;
        let mut step = DVector::zeros(n);
        for j in 0..2 {
            step[j] = scaled[j] * size[j];
        }
        let rest = n - 2;
        if rest == 0 {
            return Ok(step);
        }
        let left = distance.rows(2, rest) - system.view((2, 0), (rest, 2)) * step.rows(0, 2);
        let solutes = system.view((2, 2), (rest, rest)).clone_owned().lu().solve(&left).ok_or_else(nowhere)?;
        step.rows_mut(2, rest).copy_from(&solutes);
        Ok(step)
    }

    fn name(&self, j: usize) -> String {
        if j == 1 {
            "the salt".into()
        } else {
            self.plan.species[SoluteId::of(j - BEFORE_SOLUTES)].solute.key.to_string()
        }
    }

    fn report(&mut self, z: &DVector<f64>, a: &DMatrix<f64>) -> Result<Settled, SettleError> {
        let mut statistics = Statistics::new(self.plan.species.len(), &[]);
        self.map(z, &mut statistics)?;
        // What neither comes nor goes has an eigenvalue of 1 and is settled already.
        let moving = |e: &f64| (e - 1.0).abs() >= NEVER;
        let radius = moduli(a).filter(moving).fold(0.0, f64::max);
        let after = |left: f64| {
            if radius >= 1.0 {
                None
            } else if radius <= 0.0 {
                Some(0.0)
            } else {
                Some(self.cycle * left.to_ln() / radius.to_ln())
            }
        };
        let span = |k: usize| span_of(self.plan, &statistics, k, self.begin);
        Ok(Settled {
            cycle_d: self.cycle,
            seasonal: false,
            half_life_d: after(0.5),
            to_5_percent_d: after(0.05),
            salinity_psu: span(1),
            solutes: (2..statistics.variables.len()).map(span).collect(),
            start: z.as_slice().to_vec(),
        })
    }
}

/// Whether the salinity of some amounts is one that sea water formulas know.
pub(super) fn inside(amounts: &[f64]) -> Result<(), SettleError> {
    let psu = 1e3 * amounts[1] / (amounts[0] + amounts[1]);
    if (0.0..=45.0).contains(&psu) {
        return Ok(());
    }
    Err(SettleError::Outside(format!("a salinity of about {psu:.0} psu")))
}

/// What a quantity does over a settled cycle that was watched from a day on.
pub(super) fn span_of(plan: &Plan, statistics: &Statistics, k: usize, from_d: f64) -> SettledSolute {
    let statistic = &statistics.variables[k];
    let (key, unit) = match statistic.of {
        Some(Variable::Solute(i)) => (plan.species[i].solute.key.to_string(), plan.species[i].solute.unit()),
        _ => ("salinity".to_owned(), "psu"),
    };
    SettledSolute {
        key,
        unit: unit.into(),
        trough: statistic.lowest.0,
        trough_d: statistic.lowest.1 - from_d,
        mean: statistics.mean(k),
        peak: statistic.highest.0,
        peak_d: statistic.highest.1 - from_d,
    }
}
