//! The run of a station with its tanks, from event to event: between two of them all flows are constant.

use super::station::{ServedOutcome, ServedTank, Station, StationOutcome, StoreLevel};
use super::station_due::{Due, served_plan};
use super::station_shortage::{Shortage, Why};
use super::station_work::{LEAST_SHARE, Pending, Run, SAME_INSTANT_D, Work, share_of};
use crate::engine::EngineError;

/// A change is late from here on \[d\].
const LATE_D: f64 = 1.0 / 24.0;

/// Runs station and tanks together for some days.
pub fn run_station(station: &Station, tanks: &[ServedTank], days: f64) -> Result<StationOutcome, EngineError> {
    let prepared: Vec<_> = tanks.iter().map(served_plan).collect();
    let mut work = Work::new(station, tanks, &prepared, days)?;
    loop {
        work.act()?;
        if work.now >= days {
            return work.finish(days);
        }
        let next = work.next_event().min(days);
        work.flow(next);
    }
}

impl Work<'_> {
    /// Does all that is due at this moment.
    fn act(&mut self) -> Result<(), EngineError> {
        if self.now + SAME_INSTANT_D >= self.next_delivery {
            self.mix_used_kg = 0.0;
            self.next_delivery += self.station.delivery_d;
        }
        self.salt();
        self.vessels.release(self.now);
        self.refills_and_changes_due()?;
        self.arrive()?;
        loop {
            let served = self.serve_pending()?;
            let loaded = self.load_van()?;
            if !(self.mix() || served || loaded) {
                break;
            }
        }
        self.switch();
        self.note();
        Ok(())
    }

    fn note(&mut self) {
        // Below nothing by a rounding is nothing.
        let fresh_l = (self.fresh_kg / self.kg_per_l).max(0.0);
        let level = StoreLevel {
            day: self.now,
            fresh_l,
            salt_water_l: self.vessels.ready_l(),
            salt_mix_kg: self.station.salt_mix_kg.unwrap_or(0.0) - self.mix_used_kg,
            making: self.making,
        };
        self.outcome.lowest_fresh_l = self.outcome.lowest_fresh_l.min(fresh_l);
        debug_assert!(self.fresh_kg > -self.tolerance_kg(), "{fresh_l} L in store");
        self.outcome.levels.push(level);
    }

    /// Whether the purifier may run: its hours, and no outage.
    fn may_make(&self) -> bool {
        let now = self.now + SAME_INSTANT_D;
        let out = |(begin, length): &(f64, f64)| now >= *begin && now < begin + length;
        now - now.floor() < self.station.hours_per_d / 24.0 && !self.station.outages.iter().any(out)
    }

    /// The float of the store: on at one level, off when it is full; a vessel being filled is a demand too.
    fn switch(&mut self) {
        let filling = self.vessels.wanting().is_some();
        if filling || self.fresh_kg <= self.station.restart_l * self.kg_per_l + self.tolerance_kg() {
            self.wanted = true;
        }
        if !filling && self.fresh_kg >= self.full_kg() - self.tolerance_kg() {
            self.wanted = false;
        }
        let making = self.wanted && self.may_make();
        self.outcome.starts += usize::from(making && !self.making);
        self.making = making;
    }

    fn made_kg_per_d(&self) -> f64 {
        if self.making { self.station.made_on((self.now + SAME_INSTANT_D).floor()) * self.kg_per_l } else { 0.0 }
    }

    /// The vessel that what is made flows into: one being filled, once the store holds what is kept for top-off.
    fn flows_into(&self) -> Option<(usize, f64)> {
        self.vessels.wanting().filter(|_| self.fresh_kg >= self.held_kg() - self.tolerance_kg())
    }

    /// When something changes by itself.
    fn next_event(&self) -> f64 {
        let (now, station) = (self.now, self.station);
        let midnight = (now + SAME_INSTANT_D).floor();
        let mut next = midnight + 1.0;
        let mut soon = |at: f64| {
            if at > now + SAME_INSTANT_D {
                next = next.min(at);
            }
        };
        soon(midnight + station.hours_per_d / 24.0);
        soon(self.vessels.next_ready());
        soon(self.next_delivery);
        self.road.moments(station.van.as_ref(), now).for_each(&mut soon);
        for (begin, length) in &station.outages {
            soon(*begin);
            soon(begin + length);
        }
        for due in &self.due {
            soon(due.next);
            if due.change.is_some() {
                soon(due.first_after(now + station.ahead_d) - station.ahead_d);
            }
        }
        for pending in &self.pending {
            soon(pending.due + station.patience_d);
            soon(pending.due + LATE_D);
        }
        let made = self.made_kg_per_d();
        if made > 0.0 {
            match self.flows_into() {
                Some((_, kg)) => soon(now + kg / made),
                None => {
                    for level in self.levels_ahead() {
                        if level > self.fresh_kg + self.tolerance_kg() {
                            soon(now + (level - self.fresh_kg) / made);
                        }
                    }
                }
            }
        }
        next
    }

    /// Levels of the fresh store at which something is done \[kg\].
    fn levels_ahead(&self) -> Vec<f64> {
        let heel = self.station.heel_l * self.kg_per_l;
        let held = self.held_kg();
        let mut levels = vec![self.full_kg(), held];
        for p in &self.pending {
            let need = self.needs[p.tank][p.change];
            levels.push(heel + need.trim_kg * need.litres);
        }
        levels.extend(self.vessels.free().into_iter().map(|(k, left)| held + self.enough_to_top_up_kg(k, left)));
        levels
    }

    /// Lets water flow up to a moment.
    fn flow(&mut self, next: f64) {
        let days = next - self.now;
        let made = self.made_kg_per_d() * days;
        self.outcome.warm_l_d += self.vessels.warm_l() * days;
        if self.making {
            self.outcome.making_d += days;
            self.outcome.books.made_kg += made;
            match self.flows_into() {
                Some((k, _)) => {
                    self.vessels.fill(k, made);
                }
                None => self.fresh_kg += made,
            }
        }
        self.now = next;
    }

    fn refills_and_changes_due(&mut self) -> Result<(), EngineError> {
        for k in 0..self.due.len() {
            while self.due[k].next <= self.now + SAME_INSTANT_D {
                let Due { tank, change, next: at, .. } = self.due[k];
                self.due[k].advance();
                match change {
                    Some(_) if self.tanks[tank].visit.is_some() => self.call_at(tank, at),
                    Some(change) => self.pending.push(Pending { tank, change, due: at, waits_for: None }),
                    None => self.refill(tank, at)?,
                }
            }
        }
        Ok(())
    }

    fn refill(&mut self, tank: usize, due: f64) -> Result<(), EngineError> {
        let run = &mut self.runs[tank];
        run.simulation.run_until(due, &mut run.seen)?;
        let capacity = run.simulation.reservoir_capacity_l();
        let need = (capacity - run.simulation.reservoir_l()).max(0.0);
        let have = self.usable_kg() / self.kg_per_l;
        let taken = self.runs[tank].simulation.refill_now(need.min(have));
        self.fresh_kg -= taken * self.kg_per_l;
        self.outcome.books.top_off_kg += taken * self.kg_per_l;
        self.want(need);
        if need - taken > 1e-6 * capacity {
            let missing_l = need - taken;
            let (due_d, why) = (due, Why::NoFreshWater);
            self.outcome.shortages.push(Shortage { due_d, tank, change: false, late_d: 0.0, missing_l, why });
        }
        Ok(())
    }

    fn serve_pending(&mut self) -> Result<bool, EngineError> {
        let mut rest = Vec::new();
        let mut waiting = std::mem::take(&mut self.pending);
        // Clean before sick, so that nothing is carried over.
        waiting.sort_by(|a, b| {
            let key = |p: &Pending| (self.tanks[p.tank].sick, p.due, p.tank);
            let (a, b) = (key(a), key(b));
            a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2))
        });
        let before = waiting.len();
        for mut pending in waiting {
            if !self.serve(&mut pending)? {
                rest.push(pending);
            }
        }
        let served = rest.len() < before;
        self.pending = rest;
        Ok(served)
    }

    /// Does a change, whole if there is water, smaller if it has waited long enough; tells whether it is over.
    fn serve(&mut self, pending: &mut Pending) -> Result<bool, EngineError> {
        let need = self.needs[pending.tank][pending.change];
        let (share, why) = share_of(need, self.salt_water_l(), self.usable_kg());
        let waited = self.now - pending.due;
        let whole = share == 1.0;
        if !whole && waited < self.station.patience_d - SAME_INSTANT_D {
            pending.waits_for = Some(why);
            return Ok(false);
        }
        let late = waited > LATE_D + SAME_INSTANT_D;
        if !whole || late {
            let missing_l = need.litres * (1.0 - share);
            let (due_d, tank) = (pending.due, pending.tank);
            let why = if whole { pending.waits_for.unwrap_or(why) } else { why };
            self.outcome.shortages.push(Shortage { due_d, tank, change: true, late_d: waited, missing_l, why });
        }
        if share < LEAST_SHARE {
            return Ok(true);
        }
        let run = &mut self.runs[pending.tank];
        let at = if waited > SAME_INSTANT_D { self.now } else { pending.due };
        run.simulation.run_until(at.max(run.simulation.time().days()), &mut run.seen)?;
        let litres = run.simulation.change_now(pending.change, share, &mut run.seen)?;
        self.give(litres * need.mother, litres * need.trim_kg);
        self.too_low(pending.tank, pending.due, share * need.litres - litres);
        Ok(true)
    }

    /// Begins and fills vessels with what the store can spare; says whether anything was done.
    fn mix(&mut self) -> bool {
        let mut done = false;
        while let Some(k) = self.vessel_to_fill() {
            self.vessels.begin(k, self.now);
            self.want(self.vessels.each[k].adding_l() * self.vessels.mother.0 / self.kg_per_l);
            done = true;
        }
        while let Some((k, kg)) = self.vessels.wanting() {
            let taken = kg.min((self.fresh_kg - self.held_kg()).max(0.0));
            self.fresh_kg -= taken;
            if !self.vessels.fill(k, taken) {
                break;
            }
            done = true;
        }
        self.salt();
        done
    }

    /// Salts what is full, as far as the salt mix goes.
    fn salt(&mut self) {
        let have = self.station.salt_mix_kg.map_or(f64::INFINITY, |kg| kg - self.mix_used_kg);
        let before = self.vessels.batches.len();
        self.mix_used_kg += self.vessels.salt(have, self.station.mix_per_salt, self.now);
        for batch in &self.vessels.batches[before..] {
            self.outcome.books.batches_kg += batch.litres * self.vessels.mother.0;
            self.outcome.books.salt_in_kg += batch.litres * self.vessels.mother.1;
        }
        self.outcome.most_salt_mix_kg = self.outcome.most_salt_mix_kg.max(self.mix_used_kg);
    }

    /// What still waits when the run ends was not met.
    fn not_done(&mut self, days: f64) {
        for p in std::mem::take(&mut self.pending) {
            let why = p.waits_for.unwrap_or(Why::NoSaltWater);
            let missing_l = self.needs[p.tank][p.change].litres;
            let (due_d, tank, late_d) = (p.due, p.tank, days - p.due);
            self.outcome.shortages.push(Shortage { due_d, tank, change: true, late_d, missing_l, why });
        }
        self.calls_not_made();
    }

    fn finish(mut self, days: f64) -> Result<StationOutcome, EngineError> {
        self.not_done(days);
        let (fresh, salt) = self.vessels.end(days);
        self.outcome.books.end_kg = self.fresh_kg + fresh;
        self.outcome.books.salt_end_kg = salt;
        (self.outcome.uses, self.outcome.batches) = (self.vessels.uses, self.vessels.batches);
        for run in &mut self.runs {
            run.simulation.run_until(days, &mut run.seen)?;
            run.simulation.show("", &mut run.seen);
        }
        let of_tank = |(run, tank): (Run<'_>, &ServedTank)| {
            let tally = run.simulation.tally();
            ServedOutcome {
                changes: tally.changes,
                changed_l: tally.changed_l,
                from_elsewhere_l: tally.salt_water_l - tally.changed_l,
                top_off_l: tally.top_off_l,
                minutes: tally.minutes(&tank.plan.costs),
                tally: tally.clone(),
                salinity_psu: run.seen.salinity_psu,
                left_at_d: run.seen.crossings.left_at().into_iter().flatten().min_by(f64::total_cmp),
            }
        };
        self.outcome.tanks = self.runs.into_iter().zip(self.tanks).map(of_tank).collect();
        Ok(self.outcome)
    }
}
