//! From one period to the next.

use super::event_queue::{EventQueue, SAME_INSTANT_D};
use super::{EngineError, Observer, Simulation};
use crate::results::EventRecord;

impl Simulation<'_> {
    /// When a period next begins or ends; infinity where none does.
    pub(super) fn edge_after(&self, time: f64) -> f64 {
        self.plan.periods.iter().map(|p| p.edge_after(time + SAME_INSTANT_D)).fold(f64::INFINITY, f64::min)
    }

    /// Turns to what is done from now on. What is due at this very instant is due by the new regime.
    pub(super) fn turn_period(&mut self, observer: &mut dyn Observer) -> Result<(), EngineError> {
        self.close_interval();
        self.show("", observer);
        let now = self.time + SAME_INSTANT_D;
        let regime = self.plan.regime_at(now).1;
        self.queue = EventQueue::new(self.plan, regime, self.time - 2.0 * SAME_INSTANT_D);
        // A reservoir that was not there is full when it is put up; a smaller one holds less.
        self.reservoir_l = self.reservoir_l.min(regime.top_off.capacity_l());
        self.bend(self.time)?;
        self.next_edge = self.edge_after(self.time);
        // A series turns without a word.
        let (before, on) = (self.plan.period_at(self.time - 2.0 * SAME_INSTANT_D), self.plan.period_at(now));
        let told = before != on;
        self.show(if told { "period" } else { "" }, observer);
        if told && observer.wants_words() {
            let psu = self.salinity().psu();
            observer.event(EventRecord {
                time_d: self.time,
                event: "period",
                detail: if on.is_empty() { "as usual again".into() } else { format!("{on} begins") },
                out_l: 0.0,
                in_l: 0.0,
                salinity_before_psu: psu,
                salinity_after_psu: psu,
            });
        }
        Ok(())
    }
}
