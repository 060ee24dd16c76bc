//! The round: the van is loaded with what the next stops take, drives, and comes back for more.

use super::station::ChangeNeed;
use super::station_shortage::{Shortage, Why};
use super::station_work::{LEAST_SHARE, SAME_INSTANT_D, Work, share_of};
use super::van::{Call, Load, Trip, TripStop};
use crate::engine::EngineError;

/// What a tank's stop would take, and why it cannot be had.
enum Stop {
    Fits(TripStop),
    Waits(Why),
    LeftOut(f64, Why),
}

impl Work<'_> {
    /// A visit is due: the tank waits for the van. An older visit that was never made is given up.
    pub(super) fn call_at(&mut self, tank: usize, due: f64) {
        if let Some(k) = self.road.calls.iter().position(|c| c.tank == tank) {
            let old = self.road.calls.remove(k);
            self.leave_out(&old, self.needs[tank][0].litres, old.why);
        }
        let works = self.station.van.as_ref().is_some_and(|v| v.day(self.now).is_some());
        self.road.calls.push(Call { tank, due, why: if works { Why::DayFull } else { Why::DayOff } });
    }

    /// Calls that still wait when the run ends.
    pub(super) fn calls_not_made(&mut self) {
        for call in std::mem::take(&mut self.road.calls) {
            self.leave_out(&call, self.needs[call.tank][0].litres, call.why);
        }
    }

    fn leave_out(&mut self, call: &Call, missing_l: f64, why: Why) {
        let late_d = self.now - call.due;
        let (due_d, tank) = (call.due, call.tank);
        self.outcome.shortages.push(Shortage { due_d, tank, change: true, late_d, missing_l, why });
    }

    /// Loads the van for the next stops, where it is home and somebody waits; says whether it left.
    pub(super) fn load_van(&mut self) -> Result<bool, EngineError> {
        let station = self.station;
        let Some(van) = &station.van else { return Ok(false) };
        let Some((begin, end)) = van.day(self.now) else { return Ok(false) };
        let home = self.road.ahead.is_empty() && self.now + SAME_INSTANT_D >= self.road.home_d;
        if !home
            || self.now >= self.days - SAME_INSTANT_D
            || self.now + SAME_INSTANT_D < begin
            || self.now >= end
            || self.road.calls.is_empty()
        {
            return Ok(false);
        }
        let mut calls = std::mem::take(&mut self.road.calls);
        calls.sort_by_key(|c| (self.tanks[c.tank].sick, c.tank));
        let kg_per_l = (self.vessels.mother.0 + self.vessels.mother.1, self.kg_per_l);
        let (mut load, mut clock, mut stops) = (Load::default(), self.now, Vec::new());
        let (mut rest, mut full) = (Vec::new(), false);
        for mut call in calls {
            if full {
                rest.push(call);
                continue;
            }
            let visit = self.tanks[call.tank].visit.as_ref().map_or((0.0, 0.0), |v| (v.drive_d, v.work_d));
            match self.stop(&call, load, clock + visit.0)? {
                Stop::LeftOut(missing, why) => self.leave_out(&call, missing, why),
                Stop::Waits(why) => {
                    call.why = why;
                    rest.push(call);
                }
                Stop::Fits(stop) => {
                    let over = stop.arrive_d + stop.stay_d + visit.0 > end + SAME_INSTANT_D;
                    if let Some(more) = load.with(&stop, kg_per_l, van).filter(|_| !over) {
                        (load, clock) = (more, stop.arrive_d + stop.stay_d);
                        stops.push(stop);
                    } else {
                        // What does not fit goes with the next trip, or on the next day.
                        call.why = Why::DayFull;
                        full = true;
                        rest.push(call);
                    }
                }
            }
        }
        self.road.calls = rest;
        if stops.is_empty() {
            return Ok(false);
        }
        for stop in &stops {
            self.give(stop.mother_l, stop.trim_l * self.kg_per_l);
            let top_off = stop.top_off_l * self.kg_per_l;
            self.fresh_kg -= top_off;
            self.outcome.books.top_off_kg += top_off;
            self.want(stop.top_off_l);
        }
        let home = stops.last().and_then(|s| self.tanks[s.tank].visit.as_ref()).map_or(0.0, |v| v.drive_d);
        let back_d = clock + home;
        self.road.home_d = back_d + van.reload_d;
        self.road.ahead.clone_from(&stops);
        self.outcome.trips.push(Trip { leaves_d: self.now, back_d, stops, load_kg: load.kg });
        Ok(true)
    }

    /// What a stop takes, with so much on the van already.
    fn stop(&mut self, call: &Call, load: Load, arrive_d: f64) -> Result<Stop, EngineError> {
        let need = self.needs[call.tank][0];
        let usable_kg = (self.usable_kg() - load.fresh_l * self.kg_per_l).max(0.0);
        let (share, why) = share_of(need, (self.salt_water_l() - load.salt_l).max(0.0), usable_kg);
        if share < 1.0 {
            if self.now - call.due < self.station.patience_d - SAME_INSTANT_D {
                return Ok(Stop::Waits(why));
            }
            if share < LEAST_SHARE {
                return Ok(Stop::LeftOut(need.litres, why));
            }
        }
        let tank = &self.tanks[call.tank];
        let ChangeNeed { litres, mother, trim_kg } = need;
        let out_l = share * litres;
        let run = &mut self.runs[call.tank];
        run.simulation.run_until(self.now, &mut run.seen)?;
        let by_keeper = tank.visit.as_ref().is_none_or(|v| v.keeper_tops_off);
        let room = run.simulation.reservoir_capacity_l() - run.simulation.reservoir_l();
        let trim_l = out_l * trim_kg / self.kg_per_l;
        let spare = (usable_kg / self.kg_per_l - trim_l).max(0.0);
        let top_off_l = if by_keeper || !room.is_finite() { 0.0 } else { room.clamp(0.0, spare) };
        let costs = &tank.plan.costs;
        let minutes = costs.minutes_per_change + costs.minutes_per_l * out_l;
        let stay_d = minutes / 1440.0 + tank.visit.as_ref().map_or(0.0, |v| v.work_d);
        let why = if share < 1.0 { why } else { call.why };
        if !by_keeper && room.is_finite() && room - top_off_l > 1e-6 * run.simulation.reservoir_capacity_l() {
            let (due_d, tank, missing_l) = (call.due, call.tank, room - top_off_l);
            let why = Why::NoFreshWater;
            self.outcome.shortages.push(Shortage { due_d, tank, change: false, late_d: 0.0, missing_l, why });
        }
        let late_d = self.now.floor() - call.due.floor();
        let (tank, due_d, mother_l) = (call.tank, call.due, out_l * mother);
        Ok(Stop::Fits(TripStop {
            tank,
            due_d,
            arrive_d,
            share,
            out_l,
            mother_l,
            trim_l,
            top_off_l,
            stay_d,
            why,
            late_d,
        }))
    }

    /// Does what is due at the stops that the van has reached.
    pub(super) fn arrive(&mut self) -> Result<(), EngineError> {
        while let Some(stop) = self.road.ahead.first().copied().filter(|s| s.arrive_d <= self.now + SAME_INSTANT_D) {
            self.road.ahead.remove(0);
            let run = &mut self.runs[stop.tank];
            run.simulation.run_until(stop.arrive_d, &mut run.seen)?;
            run.simulation.refill_now(stop.top_off_l);
            let litres = run.simulation.change_now(0, stop.share, &mut run.seen)?;
            let need = self.needs[stop.tank][0];
            if stop.late_d >= 1.0 || stop.share < 1.0 {
                let missing_l = need.litres * (1.0 - stop.share);
                let (due_d, tank, why, late_d) = (stop.due_d, stop.tank, stop.why, stop.late_d);
                self.outcome.shortages.push(Shortage { due_d, tank, change: true, late_d, missing_l, why });
            }
            self.too_low(stop.tank, stop.due_d, stop.out_l - litres);
        }
        Ok(())
    }
}
