//! The van of a round: what it carries, when it leaves, and the stops of a trip.

use super::station_shortage::Why;
use crate::model::Schedule;

/// The van.
#[derive(Clone, Debug, PartialEq)]
pub struct Van {
    /// Its tank for salt water \[L\].
    pub salt_l: f64,
    /// Its tank for fresh water \[L\].
    pub fresh_l: f64,
    /// Most that it may carry \[kg\].
    pub most_kg: f64,
    /// When it leaves, as a share of the day.
    pub leaves: f64,
    /// Length of its working day \[d\].
    pub hours_d: f64,
    /// Loading between two trips \[d\].
    pub reload_d: f64,
    /// Days on which it goes out, by day of the run.
    pub working: Schedule,
}

impl Van {
    /// The working day at a moment: when it begins and ends \[d\], where there is one.
    #[must_use]
    pub fn day(&self, now: f64) -> Option<(f64, f64)> {
        let midnight = (now + 1e-9).floor();
        let of = |day: f64| {
            let begin = *self.working.between(day - 1e-6, day + 1.0 - 1e-6).first()?;
            Some((begin, begin + self.hours_d))
        };
        // A day that goes on past midnight is still that of its evening.
        of(midnight - 1.0).filter(|(_, end)| *end > now + 1e-9).or_else(|| of(midnight))
    }
}

/// When the van calls at a tank.
#[derive(Clone, Debug, PartialEq)]
pub struct Visit {
    /// On which days.
    pub schedule: Schedule,
    /// The drive there from the stop before, and home from there \[d\].
    pub drive_d: f64,
    /// Work at the stop besides the change itself \[d\].
    pub work_d: f64,
    /// Whether the keeper tops off; the reservoir is filled at the visit otherwise.
    pub keeper_tops_off: bool,
}

/// A trip of the van.
#[derive(Clone, Debug, PartialEq)]
pub struct Trip {
    /// When it leaves, loaded \[d\].
    pub leaves_d: f64,
    /// When it is back \[d\].
    pub back_d: f64,
    /// Stops in their order.
    pub stops: Vec<TripStop>,
    /// Mass of the water at its start \[kg\].
    pub load_kg: f64,
}

/// A stop of a trip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TripStop {
    /// Which tank, by its place.
    pub tank: usize,
    /// When it was due \[d\].
    pub due_d: f64,
    /// When the van is there \[d\].
    pub arrive_d: f64,
    /// Share of the change that there is water for.
    pub share: f64,
    /// Litres to take out.
    pub out_l: f64,
    /// Mother batch \[L\].
    pub mother_l: f64,
    /// Fresh water with it \[L\].
    pub trim_l: f64,
    /// Fresh water for the top-off reservoir \[L\].
    pub top_off_l: f64,
    /// Time at the stop \[d\].
    pub stay_d: f64,
    /// Why, where it is late or smaller.
    pub why: Why,
    /// By how many days the trip left late \[d\].
    pub late_d: f64,
}

/// What is on the van while it is loaded.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Load {
    pub(super) salt_l: f64,
    pub(super) fresh_l: f64,
    pub(super) kg: f64,
}

impl Load {
    /// The load with a stop's water, where the van can carry that.
    pub(super) fn with(self, stop: &TripStop, kg_per_l: (f64, f64), van: &Van) -> Option<Self> {
        let fresh = stop.trim_l + stop.top_off_l;
        let load = Self {
            salt_l: self.salt_l + stop.mother_l,
            fresh_l: self.fresh_l + fresh,
            kg: self.kg + kg_per_l.0 * stop.mother_l + kg_per_l.1 * fresh,
        };
        let fits = |amount: f64, most: f64| amount <= most * (1.0 + 1e-9);
        (fits(load.salt_l, van.salt_l) && fits(load.fresh_l, van.fresh_l) && fits(load.kg, van.most_kg)).then_some(load)
    }
}

/// A call that is due.
pub(super) struct Call {
    pub(super) tank: usize,
    pub(super) due: f64,
    /// Why it was not made in time, the last reason.
    pub(super) why: Why,
}

/// The van's day.
#[derive(Default)]
pub(super) struct OnTheRoad {
    pub(super) calls: Vec<Call>,
    /// When it can be loaded again \[d\].
    pub(super) home_d: f64,
    /// Stops still ahead of it.
    pub(super) ahead: Vec<TripStop>,
}

impl OnTheRoad {
    /// Tanks that wait for the van, by their place.
    pub(super) fn waiting(&self) -> impl Iterator<Item = usize> + Clone {
        self.calls.iter().map(|c| c.tank)
    }

    /// Moments at which the van does something.
    pub(super) fn moments(&self, van: Option<&Van>, now: f64) -> impl Iterator<Item = f64> {
        let day = van.filter(|_| !self.calls.is_empty()).and_then(|v| v.day(now));
        let arrivals = self.ahead.iter().map(|s| s.arrive_d);
        arrivals.chain(day.into_iter().flat_map(|(begin, end)| [begin, end])).chain([self.home_d])
    }
}
