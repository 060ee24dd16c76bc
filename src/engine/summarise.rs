//! One run of a plan, with everything it recorded.

use super::{EngineError, Recorder, Simulation, Statistics, Tally};
use crate::model::{Plan, Variable};
use crate::results::{BandReport, Cause, Drift, EventRecord, Ledger, RunState, Span, Trace};
use crate::units::{MONTH_D, trimmed};

/// What a run leaves behind.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// Rows in time.
    pub trace: Trace,
    /// Events with their particulars.
    pub events: Vec<EventRecord>,
    /// The ledger.
    pub ledger: Ledger,
    /// Counts.
    pub tally: Tally,
    /// Statistics over time.
    pub statistics: Statistics,
    /// When it began \[d from the start of the scenario\]; above zero where it went on from another run.
    pub from_d: f64,
    /// Length of the run; shorter than asked where the tank ran empty.
    pub days: f64,
    /// The tank at its end, for a run that goes on.
    pub state: RunState,
}

impl Outcome {
    /// Days between the last two water changes, in which what they move comes round; 0 with fewer.
    #[must_use]
    pub fn round_d(&self) -> f64 {
        let mut changes = self.events.iter().rev().filter(|e| e.event == "change").map(|e| e.time_d);
        // Two changes at one instant are one.
        let last = changes.next();
        last.and_then(|last| changes.map(|before| last - before).find(|days| *days > 1e-9)).unwrap_or(0.0)
    }
}

/// Runs a plan from its start to its horizon.
///
/// ```
/// use brinecast::{app::load, engine::run};
/// let plan = load("mixed-reef", &[])?.scenario.plan;
/// let outcome = run(&plan)?;
/// assert_eq!(outcome.events.iter().filter(|e| e.event == "change").count(), outcome.tally.changes);
/// # Ok::<(), brinecast::app::AppError>(())
/// ```
pub fn run(plan: &Plan) -> Result<Outcome, EngineError> {
    recorded(plan, Simulation::new(plan)?)
}

/// Runs a plan from the state that another run left to its horizon: two halves equal the whole.
///
/// # Errors
///
/// [`EngineError::State`] where the state is of another tank, or not before the horizon.
pub fn run_on(plan: &Plan, state: &RunState) -> Result<Outcome, EngineError> {
    if state.time_d >= plan.horizon.days() {
        return Err(EngineError::State(format!(
            "it is of day {}, and the run ends on day {}: make the run longer",
            trimmed(state.time_d, 2),
            trimmed(plan.horizon.days(), 2)
        )));
    }
    recorded(plan, Simulation::going_on(plan, state)?)
}

fn recorded(plan: &Plan, mut simulation: Simulation<'_>) -> Result<Outcome, EngineError> {
    let mut recorder = Recorder::new(plan);
    let from_d = simulation.time().days();
    simulation.with_ledger();
    simulation.show("", &mut recorder);
    simulation.run_until(plan.horizon.days(), &mut recorder)?;
    let ended = recorder.trace.time_d.last().is_some_and(|t| *t >= simulation.time().days());
    if !ended {
        simulation.show("", &mut recorder);
    }
    let days = simulation.time().days() - from_d;
    let state = simulation.state();
    let (ledger, tally) = simulation.close();
    let Recorder { trace, events, statistics } = recorder;
    Ok(Outcome { trace, events, ledger, tally, statistics, from_d, days, state })
}

impl Outcome {
    /// Lowest, mean and highest of volume, salinity and each solute.
    #[must_use]
    pub fn spans(&self, plan: &Plan) -> Vec<Span> {
        (0..self.statistics.variables.len())
            .map(|k| {
                let statistic = &self.statistics.variables[k];
                let (key, unit) = name(plan, statistic.of);
                Span {
                    key,
                    unit,
                    first: statistic.first,
                    lowest: statistic.lowest.0,
                    lowest_d: statistic.lowest.1,
                    mean: self.statistics.mean(k),
                    highest: statistic.highest.0,
                    highest_d: statistic.highest.1,
                    last: statistic.last,
                }
            })
            .collect()
    }

    /// Whether each band was kept.
    #[must_use]
    pub fn bands(&self, plan: &Plan) -> Vec<BandReport> {
        self.statistics
            .variables
            .iter()
            .filter_map(|statistic| {
                let band = statistic.band?;
                let (key, unit) = name(plan, statistic.of);
                Some(BandReport {
                    key,
                    unit,
                    low: band.low,
                    high: band.high,
                    kept: statistic.left_at_d.is_none(),
                    left_at_d: statistic.left_at_d,
                    left_above: statistic.left_at_d.map(|_| statistic.left_above),
                    outside_d: statistic.outside_d,
                    worst: statistic.worst.0,
                    worst_d: statistic.left_at_d.map(|_| statistic.worst.1),
                })
            })
            .collect()
    }

    /// What moved the salinity, adding up to the whole drift.
    ///
    /// With salt `s`, and mass (or ideal volume) `m` at start 0 and end 1, the salinity moves by
    /// `(s1 − s0)/m1 + s0 (1/m1 − 1/m0)`: the first part is split by cause, the second is the level's.
    #[must_use]
    pub fn drift(&self, plan: &Plan) -> Vec<Drift> {
        let amount = |cause, j| self.ledger.amount(cause, j);
        let (w0, s0) = (amount(Cause::Start, 0), amount(Cause::Start, 1));
        let (w1, s1) = (-amount(Cause::End, 0), -amount(Cause::End, 1));
        let (m0, m1, scale) = match plan.basis {
            crate::model::Basis::Mass => (w0 + s0, w1 + s1, 1e3 / crate::seawater::G_PER_KG_PER_PSU),
            crate::model::Basis::Ideal => (w0, w1, 1e3),
        };
        let psu = |cause: &'static str, psu: f64| Drift { cause, psu, psu_per_month: psu * MONTH_D / self.days };
        let mut parts: Vec<(&'static str, f64)> = Vec::new();
        for cause in Cause::ALL.iter().filter(|c| !matches!(c, Cause::Start | Cause::End)) {
            let salt = amount(*cause, 1);
            match parts.iter_mut().find(|(words, _)| *words == cause.drift()) {
                Some((_, sum)) => *sum += salt,
                None => parts.push((cause.drift(), salt)),
            }
        }
        let mut drift: Vec<Drift> = parts
            .into_iter()
            .filter(|(_, salt)| *salt != 0.0)
            .map(|(words, salt)| psu(words, scale * salt / m1))
            .collect();
        let level = scale * s0 * (1.0 / m1 - 1.0 / m0);
        if level.abs() > 1e-9 {
            drift.push(psu("water level", level));
        }
        drift
    }
}

fn name(plan: &Plan, of: Option<Variable>) -> (String, String) {
    match of {
        None => ("volume".into(), "L".into()),
        Some(Variable::Salinity) => ("salinity".into(), "psu".into()),
        Some(Variable::Solute(i)) => {
            let solute = &plan.species[i].solute;
            (solute.key.to_string(), solute.unit().into())
        }
    }
}
