//! A mixing station and the tanks that it serves, run together.
//!
//! The tanks run on the engine of the main job, each by itself; whatever water they need comes from here: the
//! purifier fills the fresh store, vessels are filled, salted, mixed and drawn. Where water is short, a refill is
//! smaller, a change waits, and after some time is made smaller or left out, and the tank shows it.

use super::station_shortage::Shortage;
use super::van::{Trip, Van, Visit};
use crate::engine::Tally;
use crate::model::{Basis, Plan};
use crate::seawater::RangeError;
use crate::units::{PracticalSalinity, Temperature};

/// The station.
#[derive(Clone, Debug, PartialEq)]
pub struct Station {
    /// What the purifier makes while it runs, by day of the run \[L/d\]; the last day stays.
    pub made_l_per_d: Vec<f64>,
    /// Hours a day in which it may run.
    pub hours_per_d: f64,
    /// Litres of reject for one of product.
    pub reject: f64,
    /// Times at which it stands still: begin and length \[d\].
    pub outages: Vec<(f64, f64)>,
    /// Fresh store \[L\]; full at the start.
    pub fresh_l: f64,
    /// What lies below its outlet and is never drawn \[L\].
    pub heel_l: f64,
    /// Level of the store at which the purifier starts again; it stops when the store is full \[L\].
    pub restart_l: f64,
    /// Mixing vessels: finished litres and the days that salting, mixing and heating take.
    pub vessels: Vec<(f64, f64)>,
    /// Salinity to which they are mixed.
    pub mother: PracticalSalinity,
    /// Salt water that is held back for an emergency \[L\].
    pub emergency_l: f64,
    /// How long a change waits for water before it is made smaller \[d\].
    pub patience_d: f64,
    /// How far ahead batches are made \[d\].
    pub ahead_d: f64,
    /// Salt mix in store after a delivery \[kg\]; nothing where it never runs out.
    pub salt_mix_kg: Option<f64>,
    /// Kilograms of mix that hold a kilogram of sea salt.
    pub mix_per_salt: f64,
    /// Days between deliveries of salt mix.
    pub delivery_d: f64,
    /// The van that takes the water to its tanks; nothing where they stand beside the station.
    pub van: Option<Van>,
}

/// A tank of the round.
#[derive(Clone, Debug)]
pub struct ServedTank {
    /// Its name.
    pub name: String,
    /// What it runs by.
    pub plan: Plan,
    /// Whether something in it is ill; it is then served last.
    pub sick: bool,
    /// When the van calls, where there is one.
    pub visit: Option<Visit>,
}

/// One use of a vessel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VesselUse {
    /// Which.
    pub vessel: usize,
    /// From the first drop to the last \[d\].
    pub begin: f64,
    /// See above; the end of the run where it is still in use.
    pub end: f64,
}

/// A batch that was mixed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BatchMade {
    /// In which vessel.
    pub vessel: usize,
    /// When filling began \[d\].
    pub begin_d: f64,
    /// When the salt went in \[d\].
    pub salted_d: f64,
    /// When it may be used \[d\].
    pub ready_d: f64,
    /// Finished litres that were added to what was left.
    pub litres: f64,
    /// Salt mix \[kg\].
    pub salt_mix_kg: f64,
}

/// What the stores hold at a moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StoreLevel {
    /// When \[d\].
    pub day: f64,
    /// Fresh water, heel included \[L\].
    pub fresh_l: f64,
    /// Salt water that is ready \[L\].
    pub salt_water_l: f64,
    /// Salt mix \[kg\]; where the store has no end, what is used since the delivery, negative.
    pub salt_mix_kg: f64,
    /// Whether the purifier runs from here on.
    pub making: bool,
}

/// What came of a tank.
#[derive(Clone, Debug)]
pub struct ServedOutcome {
    /// Lowest and highest salinity \[psu\].
    pub salinity_psu: (f64, f64),
    /// When the first band was left \[d\].
    pub left_at_d: Option<f64>,
    /// Changes done.
    pub changes: usize,
    /// Litres of new water.
    pub changed_l: f64,
    /// Salt water that went in by exchange or to put a reading right, of which the station knows nothing \[L\].
    pub from_elsewhere_l: f64,
    /// Top-off used \[L\].
    pub top_off_l: f64,
    /// Minutes of work.
    pub minutes: f64,
    /// Counts of its run.
    pub tally: Tally,
}

/// Litres and kilograms over the run; fresh water closes to a rounding.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct StationBooks {
    /// Fresh water at the start \[kg\].
    pub start_kg: f64,
    /// Made \[kg\].
    pub made_kg: f64,
    /// To top-off reservoirs \[kg\].
    pub top_off_kg: f64,
    /// Into batches \[kg\].
    pub batches_kg: f64,
    /// To trim the mother batch for a tank \[kg\].
    pub trim_kg: f64,
    /// At the end, in the store and in vessels being filled \[kg\].
    pub end_kg: f64,
    /// Salt put into batches \[kg\].
    pub salt_in_kg: f64,
    /// Salt delivered to the tanks \[kg\].
    pub salt_out_kg: f64,
    /// Salt in the vessels at the end \[kg\].
    pub salt_end_kg: f64,
}

/// A run of station and tanks.
#[derive(Clone, Debug)]
pub struct StationOutcome {
    /// Each tank.
    pub tanks: Vec<ServedOutcome>,
    /// Needs that were not met in time.
    pub shortages: Vec<Shortage>,
    /// Uses of the vessels.
    pub uses: Vec<VesselUse>,
    /// What the stores hold, at every moment at which something is done.
    pub levels: Vec<StoreLevel>,
    /// Lowest fresh store \[L\].
    pub lowest_fresh_l: f64,
    /// Most salt mix used between two deliveries \[kg\].
    pub most_salt_mix_kg: f64,
    /// How often the purifier started.
    pub starts: usize,
    /// Days that it ran.
    pub making_d: f64,
    /// Litres times days of salt water kept warm: mixed or ready.
    pub warm_l_d: f64,
    /// Books.
    pub books: StationBooks,
    /// Fresh water demanded by the day, for sizing \[L\].
    pub demand_l: Vec<f64>,
    /// Batches made.
    pub batches: Vec<BatchMade>,
    /// Trips of the van.
    pub trips: Vec<Trip>,
}

impl Station {
    /// Kilograms of water and of salt in a litre of the mother batch.
    pub fn mother_content(&self, basis: Basis, temperature: Temperature) -> Result<(f64, f64), RangeError> {
        basis.content(self.mother, temperature)
    }

    /// What the purifier makes while it runs on a day of the run \[L/d\].
    #[must_use]
    pub fn made_on(&self, day: f64) -> f64 {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days of a run")]
        let day = day.max(0.0) as usize;
        self.made_l_per_d.get(day).or(self.made_l_per_d.last()).copied().unwrap_or(0.0)
    }

    /// What it makes in all on a day: its hours, less the planned outages \[L\].
    #[must_use]
    pub fn made_in_day(&self, day: f64) -> f64 {
        let (begin, end) = (day, day + self.hours_per_d / 24.0);
        let out = |(from, length): &(f64, f64)| (end.min(from + length) - begin.max(*from)).max(0.0);
        let standing: f64 = self.outages.iter().map(out).sum();
        self.made_on(day) * (end - begin - standing).max(0.0)
    }
}

/// What a change takes of the station.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChangeNeed {
    /// New water in all \[L\].
    pub litres: f64,
    /// Litres of mother batch in a litre of it; above 1 where the mother batch is too weak.
    pub mother: f64,
    /// Kilograms of fresh water that trim a litre of it.
    pub trim_kg: f64,
}

impl ChangeNeed {
    /// The need of a change, by its place in the regime, from a mother batch of known content.
    pub fn of(plan: &Plan, change: usize, mother_content: (f64, f64)) -> Result<Self, RangeError> {
        let change = &plan.regime.changes[change];
        let water = &plan.waters[change.water];
        let (water_kg, salt_kg) = plan.basis.content(water.salinity, water.temperature)?;
        let mother = salt_kg / mother_content.1;
        Ok(Self {
            litres: change.amount.of(plan.tank.operating).litres(),
            mother,
            trim_kg: (water_kg - mother * mother_content.0).max(0.0),
        })
    }

    /// Litres of mother batch.
    #[must_use]
    pub fn mother_l(&self) -> f64 {
        self.litres * self.mother
    }
}

/// The usual emergency share: one change of half the largest tank (common practice, no source) \[L\].
#[must_use]
pub fn usual_emergency_l(tanks: &[ServedTank]) -> f64 {
    0.5 * tanks.iter().map(|t| t.plan.tank.operating.litres()).fold(0.0, f64::max)
}
