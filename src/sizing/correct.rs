//! Correct: from one salinity to another, day by day, within a safe rate.

use crate::engine::{EngineError, Nothing, Simulation};
use crate::model::{Amount, Amounts, Change, FloatState, Plan, Regime, Schedule, Water, WaterId};
use crate::numerics::find_root;
use crate::units::{PracticalSalinity, Volume, VolumeRate, trimmed};

/// How the salinity is moved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum By {
    /// Changes of a share of the tank, with stronger or weaker water.
    Changes {
        /// Share a day.
        share: f64,
    },
    /// Salt water as top-off.
    TopOff,
    /// Tank water replaced by fresh water.
    Fresh,
}

/// What is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CorrectRequest {
    /// Where the tank is \[psu\].
    pub from: f64,
    /// Where it should go \[psu\].
    pub to: f64,
    /// Most that it may rise or fall in a day \[psu/d\].
    pub up_per_d: f64,
    /// See above.
    pub down_per_d: f64,
    /// Days wanted; the fewest that are allowed where nothing is said.
    pub days: Option<u32>,
    /// How.
    pub by: By,
}

/// One day of the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct CorrectDay {
    /// Its number, from 1.
    pub day: u32,
    /// Litres of new water that day.
    pub litres: f64,
    /// Salinity to mix it to \[psu\].
    pub mix_psu: f64,
    /// Salinity of the tank in the evening before and after \[psu\].
    pub before_psu: f64,
    /// See above.
    pub after_psu: f64,
    /// Every solute at its end.
    pub solutes: Vec<f64>,
}

/// Why there is no such plan.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CorrectError {
    /// Nothing to do.
    #[error("the tank is at that salinity already")]
    Nothing,
    /// Too fast.
    #[error(
        "{days} d would move it by {rate:.2} psu a day, more than the {allowed:.2} allowed; the fastest allowed is {fewest} d"
    )]
    TooFast {
        /// Asked for.
        days: u32,
        /// What that would be.
        rate: f64,
        /// What may be.
        allowed: f64,
        /// The fewest days.
        fewest: u32,
    },
    /// Too long.
    #[error("that would take {0} d, more than {MOST_DAYS}")]
    TooLong(u32),
    /// The way cannot do it.
    #[error("{0}")]
    Cannot(String),
    /// The plan cannot be run.
    #[error(transparent)]
    Engine(#[from] EngineError),
}

/// Most days of a plan.
const MOST_DAYS: u32 = 120;
/// Lengths that are tried where none is asked for.
const MOST_TRIALS: usize = 60;
/// Saltiest water that is mixed \[psu\]: the edge of the equation of state.
const SALTIEST: f64 = 42.0;
/// Change of a day, as a share of the day, so that the day's evaporation is made up by then.
const EVENING: f64 = 0.75;

/// The plan, day by day, found with the simulation itself: each day's water is mixed so that the evening
/// meets its target whatever evaporates, leaks or is skimmed meanwhile.
pub fn correct(plan: &Plan, request: &CorrectRequest) -> Result<Vec<CorrectDay>, CorrectError> {
    let move_by = request.to - request.from;
    if move_by.abs() < 1e-6 {
        return Err(CorrectError::Nothing);
    }
    let allowed = if move_by > 0.0 { request.up_per_d } else { request.down_per_d };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked below")]
    let fewest = (move_by.abs() / allowed - 1e-9).ceil().max(1.0) as u32;
    let Some(days) = request.days else {
        // The fewest days that rate and way allow.
        let mut first = None;
        for days in (fewest..=MOST_DAYS).take(MOST_TRIALS) {
            match by_days(plan, request, days) {
                Err(error @ CorrectError::Cannot(_)) => first = first.or(Some(error)),
                done => return done,
            }
        }
        return Err(first.unwrap_or(CorrectError::TooLong(fewest)));
    };
    if days < fewest {
        return Err(CorrectError::TooFast { days, rate: move_by.abs() / f64::from(days.max(1)), allowed, fewest });
    }
    if days > MOST_DAYS {
        return Err(CorrectError::TooLong(days));
    }
    by_days(plan, request, days)
}

/// The plan in a number of days.
fn by_days(plan: &Plan, request: &CorrectRequest, days: u32) -> Result<Vec<CorrectDay>, CorrectError> {
    let move_by = request.to - request.from;
    let mut work = Work::new(plan, request)?;
    let mut list = Vec::new();
    for day in 1..=days {
        let target = request.from + move_by * f64::from(day) / f64::from(days);
        let before_psu = work.psu;
        let span = (f64::from(day - 1), f64::from(day));
        let knob = work.knob(span, target)?;
        let (after_psu, amounts, litres) = work.try_until(span, knob)?;
        let solutes = amounts.solutes().iter().map(|x| x / litres).collect();
        (work.amounts, work.psu) = (amounts, after_psu);
        let (litres, mix_psu) = match request.by {
            By::Changes { share } => (share * plan.tank.operating.litres(), knob),
            By::Fresh => (knob, 0.0),
            By::TopOff => (work.evaporation, knob),
        };
        list.push(CorrectDay { day, litres, mix_psu, before_psu, after_psu, solutes });
    }
    Ok(list)
}

/// The correction under way: the plan without the keeper's usual acts, and the tank in the evening.
pub(super) struct Work<'a> {
    request: &'a CorrectRequest,
    plan: Plan,
    /// The day's water.
    water: WaterId,
    evaporation: f64,
    pub(super) amounts: Amounts,
    psu: f64,
}

impl<'a> Work<'a> {
    pub(super) fn new(plan: &Plan, request: &'a CorrectRequest) -> Result<Self, CorrectError> {
        let mut plan = plan.clone();
        plan.tank.salinity = PracticalSalinity::from_psu(request.from);
        plan.output_every = None;
        plan.disturbances.clear();
        plan.periods.clear();
        let evaporation = plan.regime.evaporation.on_day(0.0);
        quiet(&mut plan.regime);
        if request.by == By::TopOff {
            if request.to < request.from {
                return Err(CorrectError::Cannot(
                    "salt water as top-off only raises: use changes or fresh water".into(),
                ));
            }
            if evaporation <= 0.0 {
                return Err(CorrectError::Cannot("nothing evaporates here, so top-off water cannot do it".into()));
            }
        }
        if request.by == By::Fresh && request.to > request.from {
            return Err(CorrectError::Cannot("fresh water only lowers: use changes or the top-off".into()));
        }
        let like = if request.by == By::Fresh { WaterId::PURIFIED } else { WaterId::SALT_WATER };
        let water =
            plan.waters.push(Water { name: "day's water".into(), mixed_by_meter: false, ..plan.waters[like].clone() });
        if request.by == By::TopOff {
            plan.regime.top_off.water = water;
        }
        // The plan begins at the operating level: top off first.
        plan.tank.volume = plan.tank.operating;
        let amounts = Simulation::new(&plan)?.amounts().clone();
        Ok(Self { request, plan, water, evaporation, amounts, psu: request.from })
    }

    /// The size of the day's act that meets the target in the evening: a salinity, or for fresh water litres.
    pub(super) fn knob(&mut self, span: (f64, f64), target: f64) -> Result<f64, CorrectError> {
        let most = if self.request.by == By::Fresh { 0.9 * self.plan.tank.operating.litres() } else { SALTIEST };
        let (none, all) = (self.try_until(span, 0.0)?.0, self.try_until(span, most)?.0);
        if (none - target) * (all - target) > 0.0 {
            return Err(CorrectError::Cannot(format!(
                "on day {} it can come to {:.3} to {:.3} psu, not to {target:.3}: {}",
                trimmed(span.1, 1),
                none.min(all),
                none.max(all),
                match self.request.by {
                    By::Changes { share } => format!(
                        "{:.0} % a day of water of 0 to {SALTIEST} psu is too little; take a larger share, or more days",
                        100.0 * share
                    ),
                    By::TopOff => format!(
                        "only {:.1} % of the tank evaporates a day, so take more days, or changes",
                        100.0 * self.evaporation / self.plan.tank.operating.litres()
                    ),
                    By::Fresh => "take more days".into(),
                }
            )));
        }
        let cell = std::cell::RefCell::new(self);
        let off = |knob: f64| cell.borrow_mut().try_until(span, knob).map_or(f64::NAN, |s| s.0 - target);
        find_root(off, 0.0, most, 1e-7).map_err(|e| CorrectError::Cannot(e.to_string()))
    }

    /// The salinity at the end of a span of days, with one act on its last day, the amounts then and the volume \[L\].
    pub(super) fn try_until(&mut self, span: (f64, f64), knob: f64) -> Result<(f64, Amounts, f64), CorrectError> {
        let psu = if self.request.by == By::Fresh { 0.0 } else { knob };
        self.plan.waters[self.water].salinity = PracticalSalinity::from_psu(psu);
        let amount = match self.request.by {
            By::Changes { share } => Some(Amount::Share(share)),
            By::Fresh => Some(Amount::Volume(Volume::from_litres(knob))),
            By::TopOff => None,
        };
        let act = span.1 - (1.0 - EVENING) * (span.1 - span.0).min(1.0);
        self.plan.regime.changes =
            amount.map(|amount| Change::at(Schedule::Listed(vec![act]), amount, self.water)).into_iter().collect();
        let simulation = self.run(span)?;
        Ok((simulation.salinity().psu(), simulation.amounts().clone(), simulation.volume_l()))
    }

    /// The salinity at the end of a span of days without an act \[psu\].
    pub(super) fn left_alone(&mut self, span: (f64, f64)) -> Result<f64, CorrectError> {
        self.plan.regime.changes.clear();
        Ok(self.run(span)?.salinity().psu())
    }

    fn run(&self, span: (f64, f64)) -> Result<Simulation<'_>, CorrectError> {
        let mut simulation = Simulation::at(&self.plan, span.0, self.amounts.clone(), f64::INFINITY)?;
        simulation.run_until(span.1, &mut Nothing)?;
        Ok(simulation)
    }
}

/// The keeper's usual changes, exchange and corrections rest while the salinity is put right, and the level is
/// kept: a plan made at a low level would take missing water for salt.
fn quiet(regime: &mut Regime) {
    regime.changes.clear();
    regime.exchange = None;
    regime.reading = None;
    regime.top_off.reservoir = None;
    regime.top_off.float = FloatState::Works;
    regime.top_off.gap = Volume::default();
    regime.top_off.pump_with(VolumeRate::from_litres_per_day(LEVEL_KEPT_L_PER_D));
}

/// A flow that keeps any level \[L/d\].
const LEVEL_KEPT_L_PER_D: f64 = 1e5;
