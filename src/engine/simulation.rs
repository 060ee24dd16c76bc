//! One tank moving through time: exact steps between events, flows renewed when something changes.

use super::event_queue::{Event, EventQueue, SAME_INSTANT_D};
use super::flows::{ActiveFlows, Mode, Outdated, Pump, Situation};
use super::ledger_interval::LedgerInterval;
use super::waters::{contents, start_amounts, start_law};
use super::{EngineError, Observer, Row, Segment, Tally};
use crate::model::{Amounts, Kinetics, Listed, Plan, Regime, Stepper, VolumeLaw, WaterId};
use crate::results::{Cause, Ledger};
use crate::units::PracticalSalinity;

/// Share of an uptake by which what comes in may miss it and still be its equal: at the instant at which a solute
/// leaves zero the two are the same but for rounding, and must not send it back.
pub(super) const BALANCED: f64 = 1e-12;

/// A plan being run.
pub struct Simulation<'a> {
    pub(super) plan: &'a Plan,
    pub(super) regime: Regime,
    pub(super) law: VolumeLaw,
    pub(super) contents: Listed<WaterId, Amounts>,
    pub(super) time: f64,
    pub(super) amounts: Amounts,
    pub(super) volume: f64,
    /// Practical salinity now, and volume and salinity at the end of the step just worked out.
    pub(super) psu: f64,
    pub(super) then: [f64; 2],
    pub(super) reservoir_l: f64,
    /// Where it keeps one.
    ledger: Option<Ledger>,
    pub(super) tally: Tally,
    pub(super) interval: LedgerInterval,
    pub(super) flows_outdated: Outdated,
    pub(super) active: Vec<bool>,
    pub(super) keeps_details: bool,
    /// What the present act has sent over the rim \[L\].
    pub(super) spilled_now_l: f64,
    /// Batches used by each change.
    pub(super) batches: Vec<usize>,
    /// Readings taken so far.
    pub(super) readings: usize,
    /// The share of its amount that each change is called for by the reading at this instant.
    pub(super) called_for: Vec<f64>,
    pub(super) queue: EventQueue,
    /// When a period next begins or ends.
    pub(super) next_edge: f64,
    pub(super) stepper: Stepper,
    pub(super) active_flows: ActiveFlows,
    pub(super) at_zero: Vec<bool>,
    pub(super) after: Amounts,
    integral: Vec<f64>,
    pub(super) scratch: Amounts,
    pub(super) scratch_integral: Vec<f64>,
    pub(super) starved: bool,
    pub(super) pump: Pump,
    pub(super) steps: u64,
}

/// Longest step \[d\] of a chain with an uptake in it that may run out or come back, so that no stay at zero is stepped over.
const CHAIN_UPTAKE_STEP_D: f64 = 0.125;

impl<'a> Simulation<'a> {
    /// The plan at its start.
    pub fn new(plan: &'a Plan) -> Result<Self, EngineError> {
        let amounts = start_amounts(plan)?;
        let full = plan.regime_at(SAME_INSTANT_D).1.top_off.capacity_l();
        let mut simulation = Self::at(plan, 0.0, amounts, full)?;
        // A schedule may ask for something at the very start, and a fault may begin there and strike; one that began
        // before has struck.
        for (on, window) in simulation.active.iter_mut().zip(&plan.disturbances) {
            *on &= window.begin < -SAME_INSTANT_D;
        }
        simulation.queue = EventQueue::new(plan, plan.regime_at(0.0).1, -2.0 * SAME_INSTANT_D);
        Ok(simulation)
    }

    /// The plan at a time, with these amounts (water kg, salt kg, solutes) and this much in the
    /// reservoir. What is due at that very time counts as done.
    pub fn at(plan: &'a Plan, time: f64, amounts: Amounts, reservoir_l: f64) -> Result<Self, EngineError> {
        plan.check()?;
        let n = plan.species.len();
        let mut simulation = Self {
            plan,
            regime: plan.regime.clone(),
            volume: 0.0,
            psu: 0.0,
            then: [0.0; 2],
            law: start_law(plan)?,
            contents: contents(plan, &plan.regime)?,
            time,
            reservoir_l,
            ledger: None,
            tally: Tally::default(),
            interval: LedgerInterval::new(&amounts),
            flows_outdated: Outdated::All,
            keeps_details: false,
            spilled_now_l: 0.0,
            batches: vec![0; plan.regimes().map(|r| r.changes.len()).max().unwrap_or(0)],
            readings: 0,
            called_for: Vec::new(),
            active: vec![false; plan.disturbances.len()],
            queue: EventQueue::new(plan, plan.regime_at(time).1, time),
            stepper: Stepper::new(Kinetics::new(&plan.species)?),
            active_flows: ActiveFlows::default(),
            at_zero: vec![false; n],
            after: Amounts::none(n),
            integral: vec![0.0; n],
            scratch: Amounts::none(n),
            scratch_integral: vec![0.0; n],
            starved: false,
            pump: Pump::Off,
            steps: 0,
            next_edge: f64::INFINITY,
            amounts,
        };
        simulation.begin()?;
        Ok(simulation)
    }

    /// Puts the plan back to a time, as [`Self::at`] does, without a ledger.
    pub(super) fn put_back(&mut self, time: f64, amounts: &Amounts, reservoir_l: f64) -> Result<(), EngineError> {
        self.law = start_law(self.plan)?;
        (self.time, self.reservoir_l) = (time, reservoir_l);
        self.amounts.copy_from(amounts);
        (self.ledger, self.tally) = (None, Tally::default());
        self.interval.restart(amounts);
        self.batches.fill(0);
        self.readings = 0;
        self.at_zero.fill(false);
        if !self.plan.periods.is_empty() {
            self.queue = EventQueue::new(self.plan, self.plan.regime_at(time).1, time);
        }
        self.queue.stand_after(time);
        (self.starved, self.pump, self.steps) = (false, Pump::Off, 0);
        self.begin()
    }

    /// Begins with other amounts, before anything was done.
    pub(super) fn begin_with(&mut self, amounts: &Amounts) -> Result<(), EngineError> {
        self.amounts.copy_from(amounts);
        self.interval.restart(amounts);
        self.begin()
    }

    /// What follows from the amounts and the time of a beginning.
    pub(super) fn begin(&mut self) -> Result<(), EngineError> {
        [self.volume, self.psu] = self.law.weigh(self.amounts.water_and_salt());
        self.renew_law(0.0);
        self.flows_outdated = Outdated::All;
        self.next_edge = self.edge_after(self.time);
        if self.plan.disturbances.is_empty() && self.plan.periods.is_empty() { Ok(()) } else { self.modify(self.time) }
    }

    /// Keeps a ledger of flows from here on, with what there is now as its start.
    pub fn with_ledger(&mut self) {
        let mut ledger = Ledger::new(self.amounts.count());
        for (j, amount) in self.amounts.row().iter().enumerate() {
            ledger.book(Cause::Start, j, *amount);
        }
        self.ledger = Some(ledger);
    }

    /// Books an amount of a component, where a ledger is kept.
    pub(super) fn book(&mut self, cause: Cause, component: usize, amount: f64) {
        if let Some(ledger) = &mut self.ledger {
            ledger.book(cause, component, amount);
        }
    }

    /// Runs until `end` \[d\], acts due at `end` included.
    pub fn run_until(&mut self, end: f64, observer: &mut dyn Observer) -> Result<(), EngineError> {
        let mut due = Vec::new();
        self.look_at_level(observer);
        while self.tally.empty_d.is_none() {
            let next = self.queue.next().min(self.next_edge).min(end);
            if self.plan.stop.is_set() {
                return Err(EngineError::Stopped);
            }
            while self.time < next && self.tally.empty_d.is_none() {
                self.segment(next, observer);
            }
            if self.tally.empty_d.is_some() {
                break;
            }
            if self.next_edge <= self.time + SAME_INSTANT_D {
                self.turn_period(observer)?;
            }
            if self.queue.next() > self.time + SAME_INSTANT_D {
                if self.time >= end {
                    break;
                }
                continue;
            }
            self.queue.take(self.time, &mut due);
            self.perform(&mut due, observer)?;
            if self.time >= end && self.queue.next() > end + SAME_INSTANT_D {
                break;
            }
        }
        Ok(())
    }

    /// Shows the present state to an observer.
    pub fn show(&self, event: &'static str, observer: &mut dyn Observer) {
        observer.row(&self.row(event));
    }

    /// Books the end and gives the ledger, empty where none was kept, and the counts.
    #[must_use]
    pub fn close(mut self) -> (Ledger, Tally) {
        self.close_interval();
        let Some(mut ledger) = self.ledger else { return (Ledger::new(self.amounts.count()), self.tally) };
        for (j, amount) in self.amounts.row().iter().enumerate() {
            ledger.book(Cause::End, j, -amount);
        }
        (ledger, self.tally)
    }

    /// Practical salinity.
    #[must_use]
    pub fn salinity(&self) -> PracticalSalinity {
        PracticalSalinity::from_psu(self.law.salinity_psu(self.amounts.water_kg(), self.amounts.salt_kg()))
    }

    pub(super) fn row(&self, event: &'static str) -> Row<'_> {
        Row {
            time_d: self.time,
            event,
            volume_l: self.volume,
            salinity_psu: self.salinity().psu(),
            amounts: &self.amounts,
        }
    }

    /// Puts the regime in force at `time`: the scenario's, bent by every disturbance that is on.
    pub(super) fn modify(&mut self, time: f64) -> Result<(), EngineError> {
        for (on, window) in self.active.iter_mut().zip(&self.plan.disturbances) {
            *on = time + SAME_INSTANT_D >= window.begin && time + SAME_INSTANT_D < window.end;
        }
        self.bend(time)
    }

    /// The same with the disturbances that are on already: what begins or ends at this instant is an act of its own.
    pub(super) fn bend(&mut self, time: f64) -> Result<(), EngineError> {
        self.regime = self.plan.regime_at(time + SAME_INSTANT_D).1.clone();
        for (on, window) in self.active.iter().zip(&self.plan.disturbances) {
            if *on {
                window.what.modify(self.plan, &mut self.regime);
            }
        }
        self.contents = contents(self.plan, &self.regime)?;
        self.flows_outdated = Outdated::All;
        Ok(())
    }

    /// Writes the interval of constant flows up to now into the ledger.
    pub(super) fn close_interval(&mut self) {
        let Some(ledger) = &mut self.ledger else { return };
        self.interval.book(
            ledger,
            &self.active_flows,
            &self.contents,
            &self.regime,
            self.stepper.kinetics(),
            &self.amounts,
        );
        self.interval.restart(&self.amounts);
    }

    /// After amounts were changed by an act.
    pub(super) fn amounts_changed(&mut self) {
        self.interval.restart(&self.amounts);
        [self.volume, self.psu] = self.law.weigh(self.amounts.water_and_salt());
        self.renew_law(self.time);
        self.flows_outdated = Outdated::All;
    }

    /// Renews the volume law where the salinity has moved, in a step that began at a time: a step begins where
    /// the range of the equation of state ends, so that is when it is left.
    /// Says whether it was.
    fn renew_law(&mut self, began: f64) -> bool {
        let salinity = PracticalSalinity::from_psu(self.psu);
        let renewed = self.law.renewed(salinity);
        if let Some(law) = renewed {
            self.law = law;
            [self.volume, self.psu] = law.weigh(self.amounts.water_and_salt());
            self.flows_outdated = Outdated::All;
        }
        if !self.law.holds_at(salinity) {
            self.tally.outside_density_range_d.get_or_insert(began);
        }
        renewed.is_some()
    }

    /// Works the flows in force out anew.
    fn refresh(&mut self) {
        self.close_interval();
        let day = (self.time + SAME_INSTANT_D).floor();
        let situation = Situation {
            plan: self.plan,
            regime: &self.regime,
            law: &self.law,
            contents: &self.contents,
            day,
            hour: self.time + SAME_INSTANT_D - day,
            volume: self.volume,
            reservoir_l: self.stock(),
            pump: self.pump,
            lays_down: self.lays_down(),
            coupling: self.stepper.kinetics().coupling.as_ref(),
        };
        situation.flows(&mut self.active_flows, self.flows_outdated);
        let has_started = self.active_flows.pump == Pump::On && self.pump == Pump::Off;
        self.tally.pump_starts += usize::from(has_started);
        self.pump = self.active_flows.pump;
        for i in 0..self.at_zero.len() {
            let made = self.made(i, &self.amounts);
            let uptake = self.stepper.kinetics().uptake[i];
            let more = self.active_flows.flow.supply.solutes()[i] + made > uptake * (1.0 + BALANCED);
            if self.at_zero[i] && (more || self.amounts.solutes()[i] > 0.0) {
                self.at_zero[i] = false;
            }
        }
        self.flows_outdated = Outdated::Not;
    }

    /// Rate at which solute `i` is made from others \[amount/d\].
    pub(super) fn made(&self, i: usize, amounts: &Amounts) -> f64 {
        let supply = self.active_flows.flow.supply.solutes();
        self.stepper.kinetics().made(i, amounts.solutes(), supply, &self.at_zero, 1.0)
    }

    /// Steps over constant flows, up to `next` or to where they change.
    fn segment(&mut self, next: f64, observer: &mut dyn Observer) {
        if self.flows_outdated != Outdated::Not {
            let was_spilling = self.active_flows.mode == Mode::Spilling;
            self.refresh();
            if self.active_flows.mode == Mode::Spilling && !was_spilling {
                self.tally.spilled_d.get_or_insert(self.time);
                self.show("spilling", observer);
            }
        }
        if self.active_flows.flow.drift != 0.0 {
            self.active_flows.flow.volume = self.volume;
        }
        let (mut days, mut ends_early) = self.within_levels(next - self.time);
        self.step(days);
        if let Some(at) = self.law_ends(days) {
            (days, ends_early) = (at, true);
            self.step(days);
        }
        let turning = self.root_event(days);
        if let Some((i, at)) = turning {
            (days, ends_early) = (at, true);
            self.step(days);
            if !self.at_zero[i] {
                // It is used up at this instant: what the step leaves is rounding, on either side of nothing.
                self.after.solutes_mut()[i] = 0.0;
            }
        }
        if observer.looks_inside() && days > 0.0 {
            observer.segment(&mut Segment {
                stepper: &mut self.stepper,
                flow: &self.active_flows.flow,
                at_zero: &self.at_zero,
                law: &self.law,
                amounts: &self.amounts,
                after: &self.after,
                scratch: &mut self.scratch,
                integral: &mut self.scratch_integral,
                over: &self.integral,
                weighed: [[self.volume, self.psu], self.then],
                from_d: self.time,
                days,
            });
        }
        self.commit(days);
        let began = self.time;
        self.time = if ends_early { self.time + days } else { next };
        if let Some((i, at)) = turning {
            self.turn(i, at > 0.0, observer);
        }
        self.flows_outdated.note_level(ends_early);
        self.edge(observer);
        if self.renew_law(began) && self.active_flows.mode == Mode::Spilling {
            // The new law may see the level a few parts in a million above the rim.
            self.close_interval();
            self.over_the_rim();
            self.spilled_now_l = 0.0;
        }
    }

    /// Works out a step of so many days from here.
    fn step(&mut self, days: f64) {
        let (flow, from) = (&self.active_flows.flow, &self.amounts);
        self.stepper.step(flow, &self.at_zero, from, days, &mut self.after, &mut self.integral);
        self.then = self.law.weigh(self.after.water_and_salt());
    }

    /// How long, of so many days, the flows stay as they are: to the next level, a dry reservoir, or the longest step;
    /// and whether that is less.
    fn within_levels(&self, mut days: f64) -> (f64, bool) {
        let flow = &self.active_flows.flow;
        let mut less = false;
        let mut limit = |t: f64| {
            if t < days {
                days = t.max(0.0);
                less = true;
            }
        };
        if flow.drift < 0.0 {
            limit((self.active_flows.below - flow.volume) / flow.drift);
        } else if flow.drift > 0.0 {
            limit((self.active_flows.above - flow.volume) / flow.drift);
        }
        if self.active_flows.top_off > 0.0 {
            limit(self.stock() / self.active_flows.top_off);
        }
        if days > CHAIN_UPTAKE_STEP_D && self.stepper.may_turn(flow, &self.at_zero, &self.amounts, days) {
            (days, less) = (CHAIN_UPTAKE_STEP_D, true);
        }
        (days, less)
    }

    /// Takes the step just worked out as the new state.
    fn commit(&mut self, days: f64) {
        self.steps += 1;
        let kinetics = self.stepper.kinetics();
        for &i in &kinetics.order {
            self.interval.integral[i] += self.integral[i];
        }
        for &i in &kinetics.taking {
            if self.at_zero[i] {
                let supply = self.active_flows.flow.supply.solutes();
                let made = kinetics.made(i, &self.integral, supply, &self.at_zero, days);
                self.interval.taken_at_zero[i] += supply[i] * days + made;
            } else {
                self.interval.taking[i] += days;
            }
        }
        self.interval.days += days;
        std::mem::swap(&mut self.amounts, &mut self.after);
        [self.volume, self.psu] = self.then;
        self.tally.evaporated_l += self.active_flows.evaporation_l * days;
        let topped_off = self.active_flows.top_off * days;
        self.tally.top_off_l += topped_off;
        if let Some(pump) = self.regime.top_off.pump().filter(|_| topped_off > 0.0) {
            self.tally.pump_d += topped_off / pump.litres_per_day();
        }
        self.tally.waste_l += self.active_flows.flow.out * days;
        if self.stock().is_finite() {
            if self.reservoir_l == 0.0 {
                self.tally.reservoir_dry_days += days;
            }
            self.reservoir_l = (self.reservoir_l - topped_off).max(0.0);
        }
        for (cause, rate) in &self.active_flows.outflows {
            if *cause == Cause::Spill {
                self.tally.spilled_l += rate * days;
            }
        }
        for (cause, rate, water) in &self.active_flows.inflows {
            if *cause == Cause::ExchangeIn {
                self.tally.salt_water_l += rate * days;
                self.tally.salt_kg += rate * days * self.contents[*water].salt_kg();
            }
        }
    }

    /// Performs what is due now, in order.
    fn perform(&mut self, due: &mut Vec<Event>, observer: &mut dyn Observer) -> Result<(), EngineError> {
        if due.iter().all(|a| matches!(a, Event::Midnight | Event::Row)) {
            if due.contains(&Event::Midnight) {
                self.flows_outdated = Outdated::All;
            }
            if due.contains(&Event::Row) {
                self.show("", observer);
            }
            return Ok(());
        }
        self.close_interval();
        self.show("", observer);
        let mut i = 0;
        while i < due.len() {
            let triggered = self.act(due[i], observer)?;
            let at = due.iter().position(|a| *a > Event::Change(usize::MAX)).unwrap_or(due.len());
            due.splice(at..at, triggered.into_iter().map(Event::Change));
            i += 1;
        }
        self.look_at_level(observer);
        Ok(())
    }
}
