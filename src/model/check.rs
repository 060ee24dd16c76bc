//! What every plan keeps to, however it was made: files meet these rules with a place and an example, a plan made in code
//! meets them here, and the engine asks for what it cannot do without.

use super::limits::{
    FASTEST_PER_DAY, LARGEST_SHARE, LONGEST_RUN_D, MOST_ROWS, MOST_SOLUTES, MOST_TIMES, MOST_VOLUMES_PER_DAY,
    SALINITY_PSU, SHORTEST_D, SHORTEST_OUTPUT_D, SYSTEM_L, TEMPERATURE_C, can_flow,
};
use super::{
    Amount, ByDay, Component, Coupling, Evaporation, Id, Kinetics, KineticsError, Plan, Regime, Schedule, SoluteId,
    Timing, Variable, WaterId,
};
use crate::units::{Volume, VolumeRate};

/// Why something is no plan.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PlanError {
    /// A number outside what is allowed.
    #[error("{what} is {value}: allowed is {allowed}")]
    Number {
        /// Of what, in the words of the file's keys.
        what: String,
        /// The number.
        value: f64,
        /// What is allowed.
        allowed: String,
    },
    /// The number of a water or a solute that the plan does not have.
    #[error("{what} names {id}, and the plan has {count}")]
    Unknown {
        /// What names it.
        what: String,
        /// The number.
        id: String,
        /// How many there are.
        count: usize,
    },
    /// A list that must have one entry a solute.
    #[error("{what} has {count} entries for {solutes} solutes")]
    Length {
        /// Which.
        what: String,
        /// Its entries.
        count: usize,
        /// What there should be.
        solutes: usize,
    },
    /// Two things that do not go together.
    #[error("{0}")]
    Together(String),
    /// More than fits in memory.
    #[error("{0}")]
    TooMuch(String),
    /// A reaction network with a ring.
    #[error(transparent)]
    Kinetics(#[from] KineticsError),
}

/// A number of a plan that is asked for its range.
fn within(what: &str, value: f64, ok: bool, allowed: &str) -> Result<(), PlanError> {
    if ok { Ok(()) } else { Err(PlanError::Number { what: what.into(), value, allowed: allowed.into() }) }
}

fn not_negative(what: &str, value: f64) -> Result<(), PlanError> {
    within(what, value, value.is_finite() && value >= 0.0, "a finite number of zero or more")
}

fn finite(what: &str, value: f64) -> Result<(), PlanError> {
    within(what, value, value.is_finite(), "a finite number")
}

impl Plan {
    /// What the engine cannot do without: numbers that are numbers, flows that do not run backwards, changes that the tank
    /// holds, and waters and solutes that are there.
    ///
    /// # Errors
    ///
    /// Names the first thing that is not so.
    pub fn check(&self) -> Result<(), PlanError> {
        let tank = &self.tank;
        for (what, volume) in [("tank.volume", tank.operating), ("tank.start_volume", tank.volume)] {
            let litres = volume.litres();
            within(what, litres, litres.is_finite() && litres > 0.0, "a volume of more than nothing")?;
        }
        not_negative("tank.salinity", tank.salinity.psu())?;
        finite("tank.temperature", tank.temperature.celsius())?;
        within("run", self.horizon.days(), self.horizon.days().is_finite(), "a length of time")?;
        if let Some(every) = self.output_every {
            within("output", every.days(), every.days() > 0.0, "more than nothing")?;
        }
        for water in &self.waters {
            self.one_each(&water.name, water.solutes.len())?;
        }
        for species in &self.species {
            let key = &species.solute.key;
            for (of, value) in [
                ("start", species.initial),
                ("removal", species.removal.per_day()),
                ("uptake", species.uptake_per_day),
                ("conversion", species.conversion.map_or(0.0, |c| c.rate.per_day() * c.yield_by_amount)),
            ] {
                if !(value.is_finite() && value >= 0.0) {
                    not_negative(&format!("solutes.{key}.{of}"), value)?;
                }
            }
            if let Some(conversion) = species.conversion {
                self.has_solute("becomes", conversion.into)?;
            }
        }
        if let Some(coupling) = Coupling::of(&self.species) {
            let alkalinity = &self.species[SoluteId::of(coupling.alkalinity)];
            if alkalinity.removal.per_day() > 0.0 || alkalinity.conversion.is_some() {
                return Err(PlanError::Together(
                    "alkalinity that goes with nitrogen has no removal and turns into nothing: give it an uptake"
                        .into(),
                ));
            }
        }
        for band in &self.bands {
            self.has_variable("a band", band.of)?;
        }
        self.regime.check(self)
    }

    fn one_each(&self, what: &str, count: usize) -> Result<(), PlanError> {
        let solutes = self.species.len();
        if count == solutes { Ok(()) } else { Err(PlanError::Length { what: what.into(), count, solutes }) }
    }

    fn has_water(&self, what: &str, id: WaterId) -> Result<(), PlanError> {
        let count = self.waters.len();
        let unknown = || PlanError::Unknown { what: what.into(), id: format!("water {}", id.place()), count };
        if id.place() < count { Ok(()) } else { Err(unknown()) }
    }

    fn has_solute(&self, what: &str, id: SoluteId) -> Result<(), PlanError> {
        let count = self.species.len();
        let unknown = || PlanError::Unknown { what: what.into(), id: format!("solute {}", id.place()), count };
        if id.place() < count { Ok(()) } else { Err(unknown()) }
    }

    fn has_variable(&self, what: &str, of: Variable) -> Result<(), PlanError> {
        match of {
            Variable::Salinity => Ok(()),
            Variable::Solute(solute) => self.has_solute(what, solute),
        }
    }
}

impl Regime {
    /// What the engine cannot do without, of a regime of a plan; see [`Plan::check`].
    ///
    /// # Errors
    ///
    /// Names the first thing that is not so.
    pub fn check(&self, plan: &Plan) -> Result<(), PlanError> {
        // Named one by one, so that a new part is not forgotten.
        let Self {
            evaporation,
            by_day,
            top_off,
            outflows,
            intrusion,
            exchange,
            changes,
            doses,
            dosing,
            laid_down_kg_per_d,
            reading,
            meter: _,
            loads,
            feed,
        } = self;
        evaporation.check()?;
        if let Some(ByDay { share, from, to }) = *by_day {
            for (what, value) in [("evaporation.by_day", share), ("evaporation.day", from), ("evaporation.day", to)] {
                within(what, value, (0.0..=1.0).contains(&value), "a share from 0 to 1")?;
            }
            if (to - from).rem_euclid(1.0) == 0.0 {
                return Err(PlanError::Together(
                    "evaporation.day: a day that ends when it begins has no length".into(),
                ));
            }
        }
        plan.has_water("top_off", top_off.water)?;
        not_negative("top_off.pump", top_off.pump().map_or(0.0, VolumeRate::litres_per_day))?;
        finite("top_off.level_offset", top_off.level_offset.litres())?;
        not_negative("top_off.gap", top_off.gap.litres())?;
        if let Some(reservoir) = &top_off.reservoir {
            not_negative("top_off.reservoir", reservoir.capacity.litres())?;
        }
        for outflow in outflows {
            not_negative(outflow.loss.key, outflow.rate.litres_per_day())?;
        }
        if let Some((rate, water)) = intrusion {
            not_negative("what comes in unasked", rate.litres_per_day())?;
            plan.has_water("what comes in unasked", *water)?;
        }
        if let Some(exchange) = exchange {
            not_negative("exchange.in", exchange.inflow.litres_per_day())?;
            not_negative("exchange.out", exchange.outflow.litres_per_day())?;
            plan.has_water("exchange", exchange.water)?;
        }
        for change in changes {
            plan.has_water("change", change.water)?;
            change.amount.check(plan.tank.operating)?;
            not_negative("change.level_down", change.level_down.days())?;
            if let Timing::Triggered(trigger) = &change.timing {
                plan.has_variable("change.when", trigger.of)?;
            }
        }
        for (of, amount) in doses.iter().flat_map(|d| &d.brings).chain(dosing.iter().flat_map(|d| &d.per_day)) {
            match of {
                Component::Water => not_negative("water of a dose", *amount)?,
                Component::Salt => not_negative("salt of a dose", *amount)?,
                Component::Solute(solute) => {
                    plan.has_solute("a dose", *solute)?;
                    not_negative("amount of a dose", *amount)?;
                }
            }
        }
        not_negative("calcification", *laid_down_kg_per_d)?;
        if let Some(correction) = reading.as_ref().and_then(|r| r.correction) {
            plan.has_water("reading", correction.fresh)?;
            not_negative("reading.want", correction.want.psu())?;
        }
        for (what, list) in [("loads", loads), ("feed", feed)] {
            plan.one_each(what, list.len())?;
            list.iter().try_for_each(|load| finite(what, *load))?;
        }
        Ok(())
    }
}

impl Evaporation {
    fn check(&self) -> Result<(), PlanError> {
        match self {
            Self::Constant(rate) | Self::Seasonal { mean: rate, swing: _, peak_d: _ } => {
                not_negative("evaporation", rate.litres_per_day())
            }
            Self::Table(points) => points.iter().try_for_each(|(_, rate)| not_negative("evaporation", *rate)),
            Self::Daily(rates) => rates.iter().try_for_each(|rate| not_negative("evaporation", *rate)),
        }
    }
}

impl Amount {
    fn check(self, operating: Volume) -> Result<(), PlanError> {
        let share = self.of(operating) / operating;
        let ok = (0.0..=LARGEST_SHARE * (1.0 + 1e-9)).contains(&share);
        within("change.amount, as a share of the operating volume,", share, ok, &format!("0 to {LARGEST_SHARE}"))
    }
}

impl Plan {
    /// All rules of a plan of the keeper's own, whether it comes from a file or from code. Studies may go past some of
    /// them, but not past [`Plan::check`].
    ///
    /// # Errors
    ///
    /// Names the first rule that is broken.
    pub fn rules(&self) -> Result<(), PlanError> {
        as_a_file(self)
    }
}

fn as_a_file(plan: &Plan) -> Result<(), PlanError> {
    plan.check()?;
    let (tank, regime) = (&plan.tank, &plan.regime);
    let (litres, days) = (tank.operating.litres(), plan.horizon.days());
    within("tank.volume", litres, SYSTEM_L.contains(&litres), "0.1 L to 10000000 L")?;
    for (what, celsius) in plan
        .waters
        .iter()
        .map(|w| (&*w.name, w.temperature))
        .chain([("tank", tank.temperature)])
        .map(|(w, t)| (w, t.celsius()))
    {
        within(&format!("{what}.temperature"), celsius, TEMPERATURE_C.contains(&celsius), "-2 to 40 °C")?;
    }
    for (what, psu) in
        plan.waters.iter().map(|w| (&*w.name, w.salinity)).chain([("tank", tank.salinity)]).map(|(w, s)| (w, s.psu()))
    {
        within(&format!("{what}.salinity"), psu, SALINITY_PSU.contains(&psu), "0 to 42 psu")?;
    }
    let together = |wrong: bool, why: &str| if wrong { Err(PlanError::Together(why.into())) } else { Ok(()) };
    together(tank.rim.is_some_and(|rim| rim < tank.operating), "the rim is below the operating level")?;
    together(
        tank.starve.is_some_and(|low| low >= tank.operating),
        "the return pump needs more than the operating level",
    )?;
    together(tank.rim.is_some_and(|rim| tank.volume > rim), "the tank starts above its rim")?;
    within("run", days, days > 0.0 && days <= LONGEST_RUN_D, "more than 0 and at most 36525 d")?;
    if let Some(every) = plan.output_every.map(crate::units::Duration::days) {
        let ok = every >= SHORTEST_OUTPUT_D * (1.0 - 1e-12) && days / every <= MOST_ROWS;
        within("output [d]", every, ok, "at least 1 s, and at most 2000000 rows in the run")?;
    }
    within("solutes", plan.species.len() as f64, plan.species.len() <= MOST_SOLUTES, "at most 200")?;
    for species in &plan.species {
        let fastest = species.removal.per_day().max(species.conversion.map_or(0.0, |c| c.rate.per_day()));
        within(&format!("{} per day", species.solute.key), fastest, fastest <= FASTEST_PER_DAY, "at most 1000 a day")?;
    }
    let flows = regime.outflows.iter().map(|o| (o.loss.key, o.rate));
    let exchange = regime.exchange.iter().flat_map(|e| [("exchange.in", e.inflow), ("exchange.out", e.outflow)]);
    for (what, flow) in flows.chain(exchange) {
        let allowed = format!("at most {MOST_VOLUMES_PER_DAY} volumes of the system a day");
        within(what, flow.litres_per_day(), can_flow(flow, tank.operating), &allowed)?;
    }
    let changes = regime.changes.iter().filter_map(|c| match &c.timing {
        Timing::Scheduled(schedule) => Some(("change", schedule)),
        Timing::Triggered(_) => None,
    });
    let others = regime
        .doses
        .iter()
        .map(|d| ("dose", &d.schedule))
        .chain(regime.reading.iter().map(|r| ("reading", &r.schedule)));
    let top_off = regime.top_off.at_times().into_iter().map(|s| ("top_off", s));
    let refill = regime.top_off.reservoir.iter().map(|r| ("top_off.refill", &r.refill));
    for (what, schedule) in changes.chain(others).chain(top_off).chain(refill) {
        if let Schedule::Periodic { offsets: _, period } = schedule {
            within(&format!("{what}.every [d]"), *period, *period >= SHORTEST_D * (1.0 - 1e-12), "10 min or more")?;
        }
        let times = schedule.count_in(days);
        within(&format!("times of {what}"), times, times <= MOST_TIMES + 1.0, "at most 500000 in the run")?;
    }
    let waits = regime.changes.iter().any(|c| matches!(c.timing, Timing::Triggered(_)));
    together(waits && regime.reading.is_none(), "a change waits for a reading, but nothing is read")?;
    for band in &plan.bands {
        together(band.low.zip(band.high).is_some_and(|(low, high)| low > high), "a band ends below its beginning")?;
    }
    Kinetics::new(&plan.species)?;
    plan.work().refusal().map_or(Ok(()), |why| Err(PlanError::TooMuch(why)))
}
