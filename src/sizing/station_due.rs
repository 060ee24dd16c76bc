//! What is due at a station: the calendars of its tanks, taken out of their plans so that the station keeps them.

use super::station::ServedTank;
use crate::model::{Cursor, Plan, Reservoir, Schedule, Timing};
use crate::units::Volume;

/// Days of evaporation that a tank without a reservoir of its own is given.
pub(super) const DAYS_IN_RESERVOIR: f64 = 3.0;

/// Something due for a tank.
pub(super) struct Due {
    pub(super) tank: usize,
    schedule: Schedule,
    cursor: Cursor,
    /// The change, by its place; a refill otherwise.
    pub(super) change: Option<usize>,
    /// When it is due next \[d\]; infinite where it never is again.
    pub(super) next: f64,
}

impl Due {
    pub(super) fn new(tank: usize, change: Option<usize>, schedule: Schedule) -> Self {
        let cursor = Cursor::after(&schedule, -1e-6);
        let next = cursor.next(&schedule).unwrap_or(f64::INFINITY);
        Self { tank, schedule, cursor, change, next }
    }

    pub(super) fn advance(&mut self) {
        self.cursor.advance();
        self.next = self.cursor.next(&self.schedule).unwrap_or(f64::INFINITY);
    }

    /// The first time after another; infinite where there is none.
    pub(super) fn first_after(&self, time: f64) -> f64 {
        let mut cursor = self.cursor;
        while let Some(next) = cursor.next(&self.schedule) {
            if next > time + 1e-9 {
                return next;
            }
            cursor.advance();
        }
        f64::INFINITY
    }

    /// How often it comes up to some time.
    pub(super) fn count_until(&self, time: f64) -> f64 {
        if self.next > time {
            return 0.0;
        }
        let mut cursor = self.cursor;
        let mut count = 0.0;
        while cursor.next(&self.schedule).is_some_and(|t| t <= time) {
            count += 1.0;
            cursor.advance();
        }
        count
    }
}

/// Days over which the most that evaporates is looked for.
const YEAR_DAYS: u16 = 366;

/// What the reservoir is taken to hold that stands beside a tank whose file gives none: top-off for some days, and for those
/// between two top-offs by hand. Nothing where it has one, where nothing is topped off, or where the tank's keeper does it.
#[must_use]
pub fn assumed_reservoir(tank: &ServedTank) -> Option<Volume> {
    let top_off = &tank.plan.regime.top_off;
    let by_keeper = tank.visit.as_ref().is_some_and(|v| v.keeper_tops_off);
    if by_keeper || top_off.reservoir.is_some() || !top_off.restores_level() {
        return None;
    }
    let gap = top_off.by_hand().map_or(0.0, |hand| longest_gap(hand, tank.plan.horizon.days()));
    let daily = (0..YEAR_DAYS).map(|day| tank.plan.regime.evaporation.on_day(f64::from(day))).fold(0.0, f64::max);
    Some(Volume::from_litres(((DAYS_IN_RESERVOIR + gap) * daily).max(1.0)))
}

/// The longest time between two instants of a schedule, or between one and an end of the run, where it has no period \[d\].
fn longest_gap(schedule: &Schedule, days: f64) -> f64 {
    let times = || [vec![0.0], schedule.between(0.0, days), vec![days]].concat();
    schedule.period().unwrap_or_else(|| times().windows(2).map(|pair| pair[1] - pair[0]).fold(0.0, f64::max))
}

/// A plan without its calendar, and the calendar: a change by its place, or a refill.
pub(super) type Prepared = (Plan, Vec<(Option<usize>, Schedule)>);

/// Takes the calendar out of a tank's plan, so that the station keeps it.
pub(super) fn served_plan(tank: &ServedTank) -> Prepared {
    let mut plan = tank.plan.clone();
    plan.output_every = None;
    let mut schedules = Vec::new();
    for (i, change) in plan.regime.changes.iter_mut().enumerate() {
        if let Timing::Scheduled(schedule) = &mut change.timing {
            let own = std::mem::replace(schedule, Schedule::Never);
            schedules.push((Some(i), tank.visit.as_ref().map_or(own, |v| v.schedule.clone())));
        }
    }
    if let Some(capacity) = assumed_reservoir(tank) {
        plan.regime.top_off.reservoir = Some(Reservoir { capacity, refill: Schedule::every(1.0, 1.0) });
    }
    let is_filled = plan.regime.top_off.restores_level() && !tank.visit.as_ref().is_some_and(|v| v.keeper_tops_off);
    if let Some(reservoir) = plan.regime.top_off.reservoir.as_mut().filter(|_| is_filled) {
        let refill = std::mem::replace(&mut reservoir.refill, Schedule::Never);
        // Who calls with a van fills the reservoir then.
        if tank.visit.is_none() {
            schedules.push((None, refill));
        }
    }
    (plan, schedules)
}
