//! The run of a station with its tanks, hour by hour and act by act.

use super::station::{
    ChangeNeed, ServedOutcome, ServedTank, Shortage, Station, StationBooks, StationOutcome, VesselUse,
};
use super::station_due::{DAYS_IN_RESERVOIR, Due, Prepared, served_plan};
use crate::engine::{Crossings, EngineError, Observer, Row, Segment, Simulation};

/// What a vessel is doing.
#[derive(Clone, Copy, Debug, PartialEq)]
enum State {
    /// It holds nothing of use.
    Empty,
    /// It is being filled: kilograms of fresh water put in so far, on top of what was left in it.
    Filling(f64),
    /// Salted and mixed until then \[d\].
    Mixing(f64),
    /// Ready: litres left.
    Ready(f64),
}

/// Steps of the station a day.
const STEPS_PER_D: f64 = 24.0;
/// Share of a change below which it is left out.
const LEAST_SHARE: f64 = 0.1;
struct Pending {
    tank: usize,
    change: usize,
    due: f64,
}

/// A tank under way.
struct Run<'a> {
    simulation: Simulation<'a>,
    seen: Seen,
}

/// What is seen of a tank: extremes of salinity, which lie at events, and when a band is left.
struct Seen {
    crossings: Crossings,
    salinity_psu: (f64, f64),
}

impl Observer for Seen {
    fn row(&mut self, row: &Row<'_>) {
        self.crossings.row(row);
        let (low, high) = self.salinity_psu;
        self.salinity_psu = (low.min(row.salinity_psu), high.max(row.salinity_psu));
    }
    fn looks_inside(&self) -> bool {
        true
    }
    fn segment(&mut self, segment: &mut Segment<'_>) {
        self.crossings.segment(segment);
    }
}

/// Runs station and tanks together for some days.
pub fn run_station(station: &Station, tanks: &[ServedTank], days: f64) -> Result<StationOutcome, EngineError> {
    let prepared: Vec<_> = tanks.iter().map(|t| served_plan(&t.plan)).collect();
    let mut work = Work::new(station, tanks, &prepared, days)?;
    let steps = (days * STEPS_PER_D).ceil();
    let mut step = 0.0;
    while step <= steps {
        let now = (step / STEPS_PER_D).min(days);
        work.hour(now, step)?;
        step += 1.0;
    }
    work.finish(days)
}

struct Work<'a> {
    station: &'a Station,
    tanks: &'a [ServedTank],
    runs: Vec<Run<'a>>,
    due: Vec<Due>,
    pending: Vec<Pending>,
    states: Vec<State>,
    begun: Vec<f64>,
    /// Litres of the batch before that a batch is mixed on top of.
    left_l: Vec<f64>,
    fresh_kg: f64,
    kg_per_l: f64,
    /// Kilograms of water and of salt in a litre of mother batch.
    mother: (f64, f64),
    /// What each change of each tank takes.
    needs: Vec<Vec<ChangeNeed>>,
    outcome: StationOutcome,
}

impl<'a> Work<'a> {
    fn new(
        station: &'a Station,
        tanks: &'a [ServedTank],
        prepared: &'a [Prepared],
        days: f64,
    ) -> Result<Self, EngineError> {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days of the run")]
        let demand_l = vec![0.0; days as usize + 1];
        let mut runs = Vec::new();
        let mut due = Vec::new();
        for (tank, (plan, schedules)) in prepared.iter().enumerate() {
            let simulation = Simulation::new(plan)?;
            let crossings = Crossings::new(&plan.bands);
            let mut seen = Seen { crossings, salinity_psu: (f64::INFINITY, f64::NEG_INFINITY) };
            simulation.show("", &mut seen);
            runs.push(Run { simulation, seen });
            for (change, schedule) in schedules {
                due.push(Due::new(tank, *change, schedule.clone()));
            }
        }
        let first = &prepared[0].0;
        let kg_per_l = first.basis.fresh_kg_per_l(first.tank.temperature);
        let mother = station.mother_content(first.basis, first.tank.temperature)?;
        let needs = tanks
            .iter()
            .map(|t| (0..t.plan.regime.changes.len()).map(|c| ChangeNeed::of(&t.plan, c, mother)).collect())
            .collect::<Result<_, _>>()?;
        let fresh_kg = station.fresh_l * kg_per_l;
        Ok(Self {
            station,
            tanks,
            runs,
            due,
            pending: Vec::new(),
            // A station that is in use begins with its vessels ready.
            states: station.vessels.iter().map(|v| State::Ready(v.0)).collect(),
            begun: vec![0.0; station.vessels.len()],
            left_l: vec![0.0; station.vessels.len()],
            fresh_kg,
            kg_per_l,
            outcome: StationOutcome {
                tanks: Vec::new(),
                shortages: Vec::new(),
                uses: Vec::new(),
                levels: Vec::new(),
                lowest_fresh_l: station.fresh_l,
                books: StationBooks {
                    start_kg: fresh_kg,
                    salt_in_kg: station.vessels.iter().map(|v| v.0 * mother.1).sum(),
                    ..StationBooks::default()
                },
                demand_l,
                batches: 0,
            },
            mother,
            needs,
        })
    }

    /// One hour of the station, and what is due in it.
    fn hour(&mut self, now: f64, step: f64) -> Result<(), EngineError> {
        if step > 0.0 {
            self.purify(now);
        }
        self.refills_and_changes_due(now)?;
        self.serve_pending(now)?;
        self.mix(now);
        let litres = self.fresh_kg / self.kg_per_l;
        self.outcome.lowest_fresh_l = self.outcome.lowest_fresh_l.min(litres);
        if step % STEPS_PER_D == 0.0 {
            self.outcome.levels.push((now, litres, self.ready_l()));
        }
        Ok(())
    }

    fn want(&mut self, now: f64, litres: f64) {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a day of the run")]
        let day = now as usize;
        if let Some(demand) = self.outcome.demand_l.get_mut(day) {
            *demand += litres;
        }
    }

    fn purify(&mut self, now: f64) {
        let station = self.station;
        let before = now - 1.0 / STEPS_PER_D;
        let hour = (before - before.floor()) * 24.0;
        let on = hour + 1e-9 < station.hours_per_d;
        let out = station.outages.iter().any(|(begin, length)| before >= *begin && before < begin + length);
        if on && !out {
            let room = station.fresh_l * self.kg_per_l - self.fresh_kg;
            let made = (station.made_l_per_d / STEPS_PER_D * self.kg_per_l).min(room).max(0.0);
            self.fresh_kg += made;
            self.outcome.books.made_kg += made;
        }
    }

    fn ready_l(&self) -> f64 {
        self.states.iter().map(|s| if let State::Ready(l) = s { *l } else { 0.0 }).sum()
    }

    fn refills_and_changes_due(&mut self, now: f64) -> Result<(), EngineError> {
        for k in 0..self.due.len() {
            while self.due[k].next <= now + 1e-9 {
                let Due { tank, change, next: at, .. } = self.due[k];
                self.due[k].advance();
                match change {
                    Some(change) => self.pending.push(Pending { tank, change, due: at }),
                    None => self.refill(tank, at, now)?,
                }
            }
        }
        Ok(())
    }

    fn refill(&mut self, tank: usize, due: f64, now: f64) -> Result<(), EngineError> {
        let run = &mut self.runs[tank];
        run.simulation.run_until(due, &mut run.seen)?;
        let capacity = run.simulation.reservoir_capacity_l();
        let need = (capacity - run.simulation.reservoir_l()).max(0.0);
        let have = self.fresh_kg / self.kg_per_l;
        let taken = run.simulation.refill_now(need.min(have));
        self.fresh_kg -= taken * self.kg_per_l;
        self.outcome.books.top_off_kg += taken * self.kg_per_l;
        self.want(now, need);
        if need - taken > 1e-6 * capacity {
            self.outcome.shortages.push(Shortage {
                due_d: due,
                tank,
                change: false,
                late_d: 0.0,
                missing_l: need - taken,
            });
        }
        Ok(())
    }

    fn serve_pending(&mut self, now: f64) -> Result<(), EngineError> {
        let mut rest = Vec::new();
        for pending in std::mem::take(&mut self.pending) {
            if !self.serve(&pending, now)? {
                rest.push(pending);
            }
        }
        self.pending = rest;
        Ok(())
    }

    /// Does a change, whole if there is water, smaller if it has waited long enough; tells whether it is over.
    fn serve(&mut self, pending: &Pending, now: f64) -> Result<bool, EngineError> {
        let ChangeNeed { litres: asked, mother, trim_kg: trim } = self.needs[pending.tank][pending.change];
        let salt_water = (self.ready_l() - self.station.emergency_l).max(0.0);
        let by_mother = if mother > 0.0 { salt_water / (mother * asked) } else { f64::INFINITY };
        let by_trim = if trim > 0.0 { self.fresh_kg / (trim * asked) } else { f64::INFINITY };
        let share = by_mother.min(by_trim).min(1.0);
        let waited = now - pending.due;
        let whole = share >= 1.0 - 1e-9;
        if !whole && waited < self.station.patience_d - 1e-9 {
            return Ok(false);
        }
        let late = waited > 2.0 / STEPS_PER_D;
        if !whole || late {
            let missing_l = if whole { 0.0 } else { asked * (1.0 - share) };
            let shortage = Shortage { due_d: pending.due, tank: pending.tank, change: true, late_d: waited, missing_l };
            self.outcome.shortages.push(shortage);
        }
        if !whole && share < LEAST_SHARE {
            return Ok(true);
        }
        let share = if whole { 1.0 } else { share };
        let at = if late { now } else { pending.due };
        let run = &mut self.runs[pending.tank];
        let at = at.max(run.simulation.time().days());
        run.simulation.run_until(at, &mut run.seen)?;
        let litres = run.simulation.change_now(pending.change, share, &mut run.seen)?;
        self.draw(litres * mother, now);
        self.fresh_kg -= litres * trim;
        self.want(now, litres * trim / self.kg_per_l);
        self.outcome.books.trim_kg += litres * trim;
        self.outcome.books.salt_out_kg += litres * mother * self.mother.1;
        Ok(true)
    }

    /// Draws salt water from the vessels that are ready, the fullest last.
    fn draw(&mut self, mut litres: f64, now: f64) {
        while litres > 1e-9 {
            let fullness = |s: &State| if let State::Ready(l) = s { *l } else { f64::INFINITY };
            let Some((k, left)) = self
                .states
                .iter()
                .map(fullness)
                .enumerate()
                .filter(|(_, l)| l.is_finite())
                .min_by(|a, b| a.1.total_cmp(&b.1))
            else {
                return;
            };
            let taken = litres.min(left);
            litres -= taken;
            if left - taken <= 1e-9 * self.station.vessels[k].0 {
                self.states[k] = State::Empty;
                self.outcome.uses.push(VesselUse { vessel: k, begin: self.begun[k], end: now });
            } else {
                self.states[k] = State::Ready(left - taken);
            }
        }
    }

    /// Fresh water that the reservoirs will ask for at their next filling is not mixed away.
    fn held_for_top_off_kg(&self, now: f64) -> f64 {
        let litres: f64 = self.tanks.iter().map(|t| t.plan.regime.evaporation.on_day(now.floor())).sum();
        DAYS_IN_RESERVOIR * litres * self.kg_per_l
    }

    /// Salt water that the calendar asks for in the days ahead \[L\].
    fn asked_ahead_l(&self, now: f64) -> f64 {
        let waiting: f64 = self.pending.iter().map(|p| self.needs[p.tank][p.change].mother_l()).sum();
        let until = now + self.station.ahead_d;
        let ahead = |due: &Due| due.change.map_or(0.0, |c| self.needs[due.tank][c].mother_l() * due.count_until(until));
        waiting + self.due.iter().map(ahead).sum::<f64>()
    }

    /// Mother batch that the next change takes \[L\].
    fn next_need_l(&self) -> f64 {
        let waiting = self.pending.iter().map(|p| (p.due, self.needs[p.tank][p.change].mother_l()));
        let ahead = self.due.iter().filter_map(|d| Some((d.next, self.needs[d.tank][d.change?].mother_l())));
        waiting.chain(ahead).min_by(|a, b| a.0.total_cmp(&b.0)).map_or(0.0, |(_, litres)| litres)
    }

    /// The vessel that the next batch goes into: an empty one, or, where what is left does not do for the next
    /// change, the one with least in it; the new batch is mixed on top of that.
    fn vessel_to_fill(&self, now: f64) -> Option<usize> {
        if let Some(k) = self.states.iter().position(|s| *s == State::Empty) {
            return Some(k);
        }
        let under_way = self.states.iter().any(|s| matches!(s, State::Filling(_) | State::Mixing(_)));
        if under_way
            || self.asked_ahead_l(now) == 0.0
            || self.ready_l() - self.station.emergency_l >= self.next_need_l()
        {
            return None;
        }
        let left = |k: usize| if let State::Ready(l) = self.states[k] { l } else { f64::INFINITY };
        // What is left stays at hand until the store can fill the vessel, or is half full itself.
        let have = self.fresh_kg - self.held_for_top_off_kg(now);
        let half = 0.5 * self.station.fresh_l * self.kg_per_l;
        let fills = |k: &usize| {
            let room = self.station.vessels[*k].0 - left(*k);
            room > 1e-9 * self.station.vessels[*k].0 && have >= half.min(room * self.mother.0)
        };
        (0..self.states.len()).filter(fills).min_by(|a, b| left(*a).total_cmp(&left(*b)))
    }

    /// Fills, mixes and releases the vessels.
    fn mix(&mut self, now: f64) {
        for k in 0..self.states.len() {
            if let State::Mixing(until) = self.states[k]
                && until <= now + 1e-9
            {
                self.states[k] = State::Ready(self.station.vessels[k].0);
            }
        }
        if let Some(k) = self.vessel_to_fill(now) {
            let coming: f64 = self
                .states
                .iter()
                .zip(&self.station.vessels)
                .map(|(s, v)| match s {
                    State::Empty => 0.0,
                    State::Ready(l) => *l,
                    _ => v.0,
                })
                .sum();
            let asked = self.asked_ahead_l(now) + self.station.emergency_l;
            if coming < asked {
                self.left_l[k] = 0.0;
                if let State::Ready(left) = self.states[k] {
                    self.left_l[k] = left;
                    self.outcome.uses.push(VesselUse { vessel: k, begin: self.begun[k], end: now });
                }
                self.states[k] = State::Filling(0.0);
                self.begun[k] = now;
                self.want(now, (self.station.vessels[k].0 - self.left_l[k]) * self.mother.0 / self.kg_per_l);
            }
        }
        if !self.states.iter().any(|s| matches!(s, State::Filling(_))) {
            return;
        }
        let held = self.held_for_top_off_kg(now);
        for k in 0..self.states.len() {
            let State::Filling(kg) = self.states[k] else { continue };
            let (volume, mix_d) = self.station.vessels[k];
            let finished = volume - self.left_l[k];
            let need = finished * self.mother.0 - kg;
            let taken = need.min((self.fresh_kg - held).max(0.0));
            self.fresh_kg -= taken;
            self.states[k] = State::Filling(kg + taken);
            if need - taken <= 1e-9 * finished {
                self.outcome.books.batches_kg += finished * self.mother.0;
                self.outcome.books.salt_in_kg += finished * self.mother.1;
                self.outcome.batches += 1;
                self.states[k] = State::Mixing(now + mix_d);
            }
        }
    }

    fn finish(mut self, days: f64) -> Result<StationOutcome, EngineError> {
        for (k, state) in self.states.iter().enumerate() {
            if *state != State::Empty {
                self.outcome.uses.push(VesselUse { vessel: k, begin: self.begun[k], end: days });
            }
            match state {
                State::Filling(kg) => {
                    self.outcome.books.end_kg += kg;
                    self.outcome.books.salt_end_kg += self.left_l[k] * self.mother.1;
                }
                State::Mixing(_) => self.outcome.books.salt_end_kg += self.station.vessels[k].0 * self.mother.1,
                State::Ready(l) => self.outcome.books.salt_end_kg += l * self.mother.1,
                State::Empty => {}
            }
        }
        self.outcome.books.end_kg += self.fresh_kg;
        for run in &mut self.runs {
            run.simulation.run_until(days, &mut run.seen)?;
            run.simulation.show("", &mut run.seen);
        }
        self.outcome.tanks = self
            .runs
            .into_iter()
            .zip(self.tanks)
            .map(|(run, tank)| {
                let tally = run.simulation.tally();
                ServedOutcome {
                    changes: tally.changes,
                    changed_l: tally.changed_l,
                    top_off_l: tally.top_off_l,
                    minutes: tally.minutes(&tank.plan.costs),
                    salinity_psu: run.seen.salinity_psu,
                    left_at_d: run.seen.crossings.left_at().into_iter().flatten().min_by(f64::total_cmp),
                }
            })
            .collect();
        Ok(self.outcome)
    }
}
