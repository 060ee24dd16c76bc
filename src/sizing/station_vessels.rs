//! The mixing vessels of a station: filled, salted, mixed, drawn.

use super::station::{BatchMade, Station, VesselUse};

/// What a vessel is doing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum State {
    /// It holds nothing of use.
    Empty,
    /// It is being filled: kilograms of fresh water put in so far, on top of what was left in it.
    Filling(f64),
    /// Full of fresh water, and no salt mix in store.
    Unsalted,
    /// Salted and mixed until then \[d\].
    Mixing(f64),
    /// Ready: litres left.
    Ready(f64),
}

/// A vessel.
pub(super) struct Vessel {
    pub(super) state: State,
    /// When this use of it began \[d\].
    begun: f64,
    /// Litres of the batch before that a batch is mixed on top of.
    pub(super) left_l: f64,
    /// Finished litres that it holds.
    pub(super) litres: f64,
    /// Days of salting and mixing.
    mix_d: f64,
}

impl Vessel {
    /// Finished litres that are being added.
    pub(super) fn adding_l(&self) -> f64 {
        self.litres - self.left_l
    }

    fn ready_l(&self) -> Option<f64> {
        if let State::Ready(litres) = self.state { Some(litres) } else { None }
    }

    /// What is in it or will be, once what is under way is done.
    fn coming_l(&self) -> f64 {
        match self.state {
            State::Empty => 0.0,
            State::Ready(litres) => litres,
            _ => self.litres,
        }
    }
}

/// All vessels, and what was done with them.
pub(super) struct Vessels {
    pub(super) each: Vec<Vessel>,
    /// Kilograms of water and of salt in a litre of mother batch.
    pub(super) mother: (f64, f64),
    pub(super) uses: Vec<VesselUse>,
    pub(super) batches: Vec<BatchMade>,
}

impl Vessels {
    /// A station that is in use begins with its vessels ready.
    pub(super) fn new(station: &Station, mother: (f64, f64)) -> Self {
        let vessel =
            |v: &(f64, f64)| Vessel { state: State::Ready(v.0), begun: 0.0, left_l: 0.0, litres: v.0, mix_d: v.1 };
        Self { each: station.vessels.iter().map(vessel).collect(), mother, uses: Vec::new(), batches: Vec::new() }
    }

    /// Salt water that is ready \[L\].
    pub(super) fn ready_l(&self) -> f64 {
        self.each.iter().filter_map(Vessel::ready_l).sum()
    }

    /// Salt water that is or will be ready \[L\].
    pub(super) fn coming_l(&self) -> f64 {
        self.each.iter().map(Vessel::coming_l).sum()
    }

    /// Salt water that is warm: mixing or ready \[L\].
    pub(super) fn warm_l(&self) -> f64 {
        let warm = |v: &Vessel| match v.state {
            State::Ready(litres) => litres,
            State::Mixing(_) => v.litres,
            _ => 0.0,
        };
        self.each.iter().map(warm).sum()
    }

    /// Fresh water that the first vessel being filled still takes \[kg\].
    pub(super) fn wanting(&self) -> Option<(usize, f64)> {
        self.each.iter().enumerate().find_map(|(k, v)| match v.state {
            State::Filling(kg) => Some((k, (v.adding_l() * self.mother.0 - kg).max(0.0))),
            _ => None,
        })
    }

    /// Draws salt water from the vessels that are ready, the fullest last.
    pub(super) fn draw(&mut self, mut litres: f64, now: f64) {
        while litres > 1e-9 {
            let ready = self.each.iter_mut().enumerate().filter_map(|(k, v)| Some((k, v.ready_l()?, v)));
            let Some((k, left, vessel)) = ready.min_by(|a, b| a.1.total_cmp(&b.1)) else { return };
            let taken = litres.min(left);
            litres -= taken;
            if left - taken <= 1e-9 * vessel.litres {
                vessel.state = State::Empty;
                self.uses.push(VesselUse { vessel: k, begin: vessel.begun, end: now });
            } else {
                vessel.state = State::Ready(left - taken);
            }
        }
    }

    /// Releases what is mixed.
    pub(super) fn release(&mut self, now: f64) {
        for vessel in &mut self.each {
            if matches!(vessel.state, State::Mixing(until) if until <= now + 1e-9) {
                vessel.state = State::Ready(vessel.litres);
            }
        }
    }

    /// When the next batch is ready \[d\].
    pub(super) fn next_ready(&self) -> f64 {
        let until = |v: &Vessel| if let State::Mixing(until) = v.state { until } else { f64::INFINITY };
        self.each.iter().map(until).fold(f64::INFINITY, f64::min)
    }

    /// The vessels that could be filled next, with what is left in them \[L\]: the empty ones, or else, where nothing is
    /// under way, all that have room.
    pub(super) fn free(&self) -> Vec<(usize, f64)> {
        let all = || self.each.iter().enumerate();
        let empty: Vec<_> = all().filter(|(_, v)| v.state == State::Empty).map(|(k, _)| (k, 0.0)).collect();
        let under_way = all().any(|(_, v)| matches!(v.state, State::Filling(_) | State::Unsalted | State::Mixing(_)));
        if !empty.is_empty() || under_way {
            return empty;
        }
        let left = all().filter_map(|(k, v)| Some((k, v.ready_l()?, v.litres)));
        left.filter(|(_, left, litres)| litres - left > 1e-9 * litres).map(|(k, left, _)| (k, left)).collect()
    }

    /// Begins to fill a vessel, on top of what is in it.
    pub(super) fn begin(&mut self, k: usize, now: f64) {
        let vessel = &mut self.each[k];
        vessel.left_l = vessel.ready_l().unwrap_or(0.0);
        if vessel.left_l > 0.0 {
            self.uses.push(VesselUse { vessel: k, begin: vessel.begun, end: now });
        }
        vessel.state = State::Filling(0.0);
        vessel.begun = now;
    }

    /// Puts fresh water into a vessel that is being filled; says whether it is full.
    pub(super) fn fill(&mut self, k: usize, kg: f64) -> bool {
        let vessel = &mut self.each[k];
        let State::Filling(had) = vessel.state else { return false };
        let whole = vessel.adding_l() * self.mother.0;
        let full = whole - had - kg <= 1e-9 * whole;
        vessel.state = if full { State::Unsalted } else { State::Filling(had + kg) };
        full
    }

    /// Salts what is full, as far as the mix goes \[kg\]; gives the mix used.
    pub(super) fn salt(&mut self, have_kg: f64, mix_per_salt: f64, now: f64) -> f64 {
        let mut used = 0.0;
        for (k, vessel) in self.each.iter_mut().enumerate() {
            let mix = vessel.adding_l() * self.mother.1 * mix_per_salt;
            if vessel.state != State::Unsalted || used + mix > have_kg * (1.0 + 1e-12) {
                continue;
            }
            used += mix;
            let ready_d = now + vessel.mix_d;
            vessel.state = State::Mixing(ready_d);
            let litres = vessel.adding_l();
            let begin_d = vessel.begun;
            self.batches.push(BatchMade { vessel: k, begin_d, salted_d: now, ready_d, litres, salt_mix_kg: mix });
        }
        used
    }

    /// Ends the run: fresh water \[kg\] and salt \[kg\] that are in the vessels.
    pub(super) fn end(&mut self, days: f64) -> (f64, f64) {
        let (mut fresh, mut salt) = (0.0, 0.0);
        for (k, vessel) in self.each.iter().enumerate() {
            if vessel.state != State::Empty {
                self.uses.push(VesselUse { vessel: k, begin: vessel.begun, end: days });
            }
            let (kg, litres) = match vessel.state {
                State::Empty => (0.0, 0.0),
                State::Filling(kg) => (kg, vessel.left_l),
                State::Unsalted => (vessel.adding_l() * self.mother.0, vessel.left_l),
                State::Mixing(_) => (0.0, vessel.litres),
                State::Ready(litres) => (0.0, litres),
            };
            fresh += kg;
            salt += litres * self.mother.1;
        }
        (fresh, salt)
    }
}
