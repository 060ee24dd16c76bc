//! What is due next.

use crate::model::{Cursor, Plan, Regime, Schedule, Timing};

/// Something that happens at an instant. At one instant acts run in this order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Event {
    /// A fault begins or ends.
    FaultEdge,
    /// The day's evaporation changes.
    Midnight,
    /// The tank is read.
    Reading,
    /// The top-off reservoir is filled.
    Refill,
    /// Topped off by hand.
    TopOff,
    /// A water change, by its place in the regime.
    Change(usize),
    /// A dose, by its place in the regime.
    Dose(usize),
    /// A row of the output grid.
    Row,
}

#[derive(Clone, Debug)]
struct Source {
    act: Event,
    schedule: Schedule,
    cursor: Cursor,
    next: f64,
}

/// All schedules of a plan, each with its next time.
#[derive(Clone, Debug)]
pub(super) struct EventQueue {
    sources: Vec<Source>,
    soonest: f64,
}

/// Acts closer than this \[d\] belong to one instant.
pub(super) const SAME_INSTANT_D: f64 = 1e-9;

impl EventQueue {
    /// The queue of a plan while a regime is in force, standing just after `time`.
    pub(super) fn new(plan: &Plan, regime: &Regime, time: f64) -> Self {
        let mut queue = Self { sources: Vec::new(), soonest: f64::INFINITY };
        let mut add = |act, schedule: Schedule| {
            queue.sources.push(Source { act, schedule, cursor: Cursor::default(), next: f64::INFINITY });
        };
        let mut edges: Vec<f64> = plan.disturbances.iter().flat_map(|d| [d.begin, d.end]).collect();
        edges.retain(|t| t.is_finite());
        edges.sort_by(f64::total_cmp);
        edges.dedup_by(|a, b| (*a - *b).abs() <= SAME_INSTANT_D);
        if !edges.is_empty() {
            add(Event::FaultEdge, Schedule::Listed(edges));
        }
        if regime.evaporation.varies() {
            add(Event::Midnight, Schedule::every(1.0, 1.0));
        }
        if let Some(by_day) = regime.by_day {
            let (from, to) = (by_day.from.min(by_day.to), by_day.from.max(by_day.to));
            add(Event::Midnight, Schedule::Periodic { offsets: vec![from, to], period: 1.0 });
        }
        if let Some(reading) = &regime.reading {
            add(Event::Reading, reading.schedule.clone());
        }
        if let Some(reservoir) = &regime.top_off.reservoir {
            add(Event::Refill, reservoir.refill.clone());
        }
        if let Some(schedule) = regime.top_off.at_times() {
            add(Event::TopOff, schedule.clone());
        }
        for (i, change) in regime.changes.iter().enumerate() {
            if let Timing::Scheduled(schedule) = &change.timing {
                add(Event::Change(i), schedule.clone());
            }
        }
        for (i, dose) in regime.doses.iter().enumerate() {
            add(Event::Dose(i), dose.schedule.clone());
        }
        if let Some(every) = plan.output_every {
            add(Event::Row, Schedule::every(every.days(), every.days()));
        }
        queue.sources.sort_by_key(|s| s.act);
        queue.stand_after(time);
        queue
    }

    /// Sets it to just after `time`.
    pub(super) fn stand_after(&mut self, time: f64) {
        self.soonest = f64::INFINITY;
        for source in &mut self.sources {
            source.cursor = Cursor::after(&source.schedule, time);
            source.next = source.cursor.next(&source.schedule).unwrap_or(f64::INFINITY);
            self.soonest = self.soonest.min(source.next);
        }
    }

    /// When something is next due; infinity where nothing is.
    pub(super) const fn next(&self) -> f64 {
        self.soonest
    }

    /// Takes what is due at `time`, in the order of [`Event`], into `due`.
    pub(super) fn take(&mut self, time: f64, due: &mut Vec<Event>) {
        due.clear();
        self.soonest = f64::INFINITY;
        for source in &mut self.sources {
            if source.next <= time + SAME_INSTANT_D {
                due.push(source.act);
                source.cursor.advance();
                source.next = source.cursor.next(&source.schedule).unwrap_or(f64::INFINITY);
            }
            self.soonest = self.soonest.min(source.next);
        }
    }
}
