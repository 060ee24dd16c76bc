//! A station with its tanks under way: where everything stands, and what may be drawn.

use super::station::{ChangeNeed, ServedTank, Station, StationBooks, StationOutcome};
use super::station_due::{DAYS_IN_RESERVOIR, Due, Prepared};
use super::station_shortage::{Shortage, Why};
use super::station_vessels::{State, Vessels};
use super::van::OnTheRoad;
use crate::engine::{Crossings, EngineError, Observer, Row, Segment, Simulation};

/// Share of a change below which it is left out.
pub(super) const LEAST_SHARE: f64 = 0.1;
/// Times this close \[d\] are the same instant.
pub(super) const SAME_INSTANT_D: f64 = 1e-9;
/// A change that waits.
pub(super) struct Pending {
    pub(super) tank: usize,
    pub(super) change: usize,
    pub(super) due: f64,
    /// What it waits for, once it does.
    pub(super) waits_for: Option<Why>,
}

/// A tank under way.
pub(super) struct Run<'a> {
    pub(super) simulation: Simulation<'a>,
    pub(super) seen: Seen,
}

/// What is seen of a tank: extremes of salinity, which lie at events, and when a band is left.
pub(super) struct Seen {
    pub(super) crossings: Crossings,
    pub(super) salinity_psu: (f64, f64),
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

/// The state of the run.
pub(super) struct Work<'a> {
    pub(super) station: &'a Station,
    pub(super) tanks: &'a [ServedTank],
    pub(super) runs: Vec<Run<'a>>,
    pub(super) due: Vec<Due>,
    pub(super) pending: Vec<Pending>,
    pub(super) vessels: Vessels,
    pub(super) road: OnTheRoad,
    pub(super) now: f64,
    /// When the run ends \[d\].
    pub(super) days: f64,
    pub(super) fresh_kg: f64,
    pub(super) kg_per_l: f64,
    /// Whether the float of the fresh store asks for water, and whether the purifier runs.
    pub(super) wanted: bool,
    pub(super) making: bool,
    /// Salt mix used since the last delivery \[kg\], and when the next comes \[d\].
    pub(super) mix_used_kg: f64,
    pub(super) next_delivery: f64,
    /// What each change of each tank takes.
    pub(super) needs: Vec<Vec<ChangeNeed>>,
    pub(super) outcome: StationOutcome,
}

impl<'a> Work<'a> {
    pub(super) fn new(
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
        let outcome = StationOutcome {
            tanks: Vec::new(),
            shortages: Vec::new(),
            uses: Vec::new(),
            levels: Vec::new(),
            lowest_fresh_l: station.fresh_l,
            most_salt_mix_kg: 0.0,
            starts: 0,
            making_d: 0.0,
            warm_l_d: 0.0,
            books: StationBooks {
                start_kg: fresh_kg,
                salt_in_kg: station.vessels.iter().map(|v| v.0 * mother.1).sum(),
                ..StationBooks::default()
            },
            demand_l,
            batches: Vec::new(),
            trips: Vec::new(),
        };
        Ok(Self {
            station,
            tanks,
            runs,
            due,
            pending: Vec::new(),
            vessels: Vessels::new(station, mother),
            road: OnTheRoad::default(),
            now: 0.0,
            days,
            fresh_kg,
            kg_per_l,
            wanted: false,
            making: false,
            mix_used_kg: 0.0,
            next_delivery: station.delivery_d,
            needs,
            outcome,
        })
    }

    /// Fresh water that is asked for, for sizing.
    pub(super) fn want(&mut self, litres: f64) {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a day of the run")]
        let day = (self.now + SAME_INSTANT_D) as usize;
        if let Some(demand) = self.outcome.demand_l.get_mut(day) {
            *demand += litres;
        }
    }

    /// Fresh water that can be drawn \[kg\].
    pub(super) fn usable_kg(&self) -> f64 {
        (self.fresh_kg - self.station.heel_l * self.kg_per_l).max(0.0)
    }

    /// Salt water that may be given away \[L\].
    pub(super) fn salt_water_l(&self) -> f64 {
        (self.vessels.ready_l() - self.station.emergency_l).max(0.0)
    }

    pub(super) fn full_kg(&self) -> f64 {
        self.station.fresh_l * self.kg_per_l
    }

    pub(super) fn tolerance_kg(&self) -> f64 {
        1e-9 * (1.0 + self.full_kg())
    }

    /// A change that was smaller because the tank itself held too little.
    pub(super) fn too_low(&mut self, tank: usize, due_d: f64, missing_l: f64) {
        if missing_l > 1e-6 * self.tanks[tank].plan.tank.operating.litres() {
            let (late_d, why) = (0.0, Why::TankLow);
            self.outcome.shortages.push(Shortage { due_d, tank, change: true, late_d, missing_l, why });
        }
    }

    /// Takes mother batch \[L\] and fresh water to trim it \[kg\] for a tank.
    pub(super) fn give(&mut self, mother_l: f64, trim_kg: f64) {
        self.vessels.draw(mother_l, self.now);
        self.fresh_kg -= trim_kg;
        self.want(trim_kg / self.kg_per_l);
        self.outcome.books.trim_kg += trim_kg;
        self.outcome.books.salt_out_kg += mother_l * self.vessels.mother.1;
    }

    /// Fresh water that the reservoirs will ask for at their next filling is not mixed away; the heel cannot be.
    pub(super) fn held_kg(&self) -> f64 {
        let day = (self.now + SAME_INSTANT_D).floor();
        let daily = |t: &ServedTank| {
            let own = t.visit.as_ref().is_some_and(|v| v.keeper_tops_off);
            if own { 0.0 } else { t.plan.regime.evaporation.on_day(day) }
        };
        let litres: f64 = self.station.heel_l + DAYS_IN_RESERVOIR * self.tanks.iter().map(daily).sum::<f64>();
        (litres * self.kg_per_l).min(self.full_kg())
    }

    /// Salt water that the calendar asks for in the days ahead \[L\].
    fn asked_ahead_l(&self) -> f64 {
        let waiting: f64 = self.pending.iter().map(|p| self.needs[p.tank][p.change].mother_l()).sum();
        let calls: f64 = self.road.waiting().map(|tank| self.needs[tank][0].mother_l()).sum();
        let until = self.now + self.station.ahead_d;
        let ahead = |due: &Due| due.change.map_or(0.0, |c| self.needs[due.tank][c].mother_l() * due.count_until(until));
        waiting + calls + self.due.iter().map(ahead).sum::<f64>()
    }

    /// Mother batch that the changes of the next day with a change take \[L\].
    fn next_need_l(&self) -> f64 {
        let waiting = self.pending.iter().map(|p| (p.due, self.needs[p.tank][p.change].mother_l()));
        let calls = self.road.waiting().map(|tank| (self.now, self.needs[tank][0].mother_l()));
        let ahead = self.due.iter().filter_map(|d| Some((d.next, self.needs[d.tank][d.change?].mother_l())));
        let all = || waiting.clone().chain(calls.clone()).chain(ahead.clone());
        let day = all().map(|(at, _)| at.floor()).fold(f64::INFINITY, f64::min);
        all().filter(|(at, _)| at.floor() == day).map(|(_, litres)| litres).sum()
    }

    /// Fresh water above what is held for top-off at which a vessel is filled up again on top of what is left in it:
    /// what it takes, or half the store \[kg\].
    pub(super) fn enough_to_top_up_kg(&self, k: usize, left_l: f64) -> f64 {
        let room = (self.vessels.each[k].litres - left_l) * self.vessels.mother.0;
        (0.5 * self.full_kg()).min(room).min(self.full_kg() - self.held_kg())
    }

    /// The vessel that the next batch goes into: an empty one, or, where what is left does not do for the next
    /// day's changes, the one with least in it of those that the store can fill up; the new batch is mixed on top of that.
    pub(super) fn vessel_to_fill(&self) -> Option<usize> {
        let asked = self.asked_ahead_l();
        if self.vessels.coming_l() >= asked + self.station.emergency_l {
            return None;
        }
        let short = asked > 0.0 && self.vessels.ready_l() - self.station.emergency_l < self.next_need_l();
        // What is left stays at hand until the store can fill the vessel, or is half full itself.
        let have = self.fresh_kg - self.held_kg() + self.tolerance_kg();
        let fills = |(k, left): &(usize, f64)| {
            self.vessels.each[*k].state == State::Empty || (short && have >= self.enough_to_top_up_kg(*k, *left))
        };
        let free = self.vessels.free().into_iter().filter(fills);
        free.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(k, _)| k)
    }
}

/// The share of a change that there is water for, and what is short.
pub(super) fn share_of(need: ChangeNeed, salt_water_l: f64, usable_kg: f64) -> (f64, Why) {
    let ChangeNeed { litres, mother, trim_kg } = need;
    let of = |have: f64, each: f64| if each > 0.0 { have / (each * litres) } else { f64::INFINITY };
    let (salt, fresh) = (of(salt_water_l, mother), of(usable_kg, trim_kg));
    let why = if salt < fresh { Why::NoSaltWater } else { Why::NoFreshWater };
    let share = salt.min(fresh);
    (if share >= 1.0 - 1e-9 { 1.0 } else { share }, why)
}
