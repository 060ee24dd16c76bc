//! All that the keeper does, and what happens to the water without them.

use std::sync::Arc;

use super::losses::{Loss, Outflow};
use super::{ByDay, Component, Evaporation, Listed, Schedule, SoluteId, TopOff, Variable, Water, WaterId};
use crate::instruments::Meter;
use crate::seawater::RangeError;
use crate::units::{Duration, Mass, PracticalSalinity, Volume, VolumeRate};

/// What is in force between two fault edges.
#[derive(Clone, Debug)]
pub struct Regime {
    /// Fresh water lost to the air.
    pub evaporation: Evaporation,
    /// How that is shared between day and night; evenly where nothing is said.
    pub by_day: Option<ByDay>,
    /// How evaporation is made up.
    pub top_off: TopOff,
    /// Tank water leaving unasked.
    pub outflows: Vec<Outflow>,
    /// Water coming in that nobody asked for: how much, of which water.
    pub intrusion: Option<(VolumeRate, WaterId)>,
    /// Continuous exchange.
    pub exchange: Option<Exchange>,
    /// Water changes.
    pub changes: Vec<Change>,
    /// Doses at times.
    pub doses: Vec<Dose>,
    /// Doses that go in all the time.
    pub dosing: Vec<Dosing>,
    /// Calcium and magnesium that calcification takes out of the salt \[kg/d\].
    pub laid_down_kg_per_d: f64,
    /// Readings of the tank.
    pub reading: Option<Reading>,
    /// The keeper's salinity meter.
    pub meter: Arc<dyn Meter>,
    /// Steady load of each solute \[amount/d\].
    pub loads: Listed<SoluteId, f64>,
    /// What the feed brings of each solute \[amount/d\].
    pub feed: Listed<SoluteId, f64>,
}

impl Regime {
    /// The true salinity of a water: what its name says, or what the keeper's meter takes for it.
    pub fn truth(&self, water: &Water) -> Result<PracticalSalinity, RangeError> {
        if water.mixed_by_meter { self.meter.truth(water.salinity, water.temperature) } else { Ok(water.salinity) }
    }

    /// How much leaves by a loss.
    #[must_use]
    pub fn outflow(&self, loss: &'static Loss) -> VolumeRate {
        self.outflows.iter().find(|o| o.loss == loss).map_or(VolumeRate::default(), |o| o.rate)
    }

    /// Sets how much leaves by a loss.
    pub fn set_outflow(&mut self, loss: &'static Loss, rate: VolumeRate) {
        match self.outflows.iter_mut().find(|o| o.loss == loss) {
            Some(outflow) => outflow.rate = rate,
            None => self.outflows.push(Outflow { loss, rate }),
        }
    }

    /// Stops the losses that need pumps.
    pub fn stop_pumped_outflows(&mut self) {
        for outflow in self.outflows.iter_mut().filter(|o| o.loss.pumped) {
            outflow.rate = VolumeRate::default();
        }
    }
}

/// A continuous exchange: two pumps.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exchange {
    /// New water pumped in.
    pub inflow: VolumeRate,
    /// Tank water pumped out.
    pub outflow: VolumeRate,
    /// Which water.
    pub water: WaterId,
}

/// A water change by swap: drain, then fill.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// When.
    pub timing: Timing,
    /// How much is taken out.
    pub amount: Amount,
    /// The concentration that a change called for by a reading of a solute is sized to bring it down to; no more than the amount is
    /// changed for it.
    pub down_to: Option<f64>,
    /// Which water is put in.
    pub water: WaterId,
    /// How much is put in.
    pub fill: Fill,
    /// Whether the float top-off is left on while the level is down.
    pub top_off_on: bool,
    /// How long the level stays down.
    pub level_down: Duration,
    /// Left out while a fault is on.
    pub skipped: bool,
    /// By how much the water put in is saltier than it is named \[psu\].
    pub batch_offset_psu: f64,
    /// By how much each batch in turn is off besides \[psu\]; none where it is empty or at its end.
    pub batch_errors_psu: Arc<[f64]>,
}

impl Change {
    /// A swap at an interval, the first after one, as much put in as was taken out, the top-off off meanwhile.
    ///
    /// ```
    /// use brinecast::model::{Amount, Change, WaterId};
    /// use brinecast::units::Duration;
    /// let weekly = Change::every(Duration::from_days(7.0), Amount::Share(0.15), WaterId::SALT_WATER);
    /// assert!(!weekly.top_off_on);
    /// ```
    #[must_use]
    pub fn every(interval: Duration, amount: Amount, water: WaterId) -> Self {
        Self::at(Schedule::every(interval.days(), interval.days()), amount, water)
    }

    /// The same at the times of a schedule.
    #[must_use]
    pub fn at(schedule: Schedule, amount: Amount, water: WaterId) -> Self {
        Self {
            timing: Timing::Scheduled(schedule),
            amount,
            down_to: None,
            water,
            fill: Fill::Measured,
            top_off_on: false,
            level_down: Duration::default(),
            skipped: false,
            batch_offset_psu: 0.0,
            batch_errors_psu: [].into(),
        }
    }
}

/// When a change is done.
#[derive(Clone, Debug, PartialEq)]
pub enum Timing {
    /// By the calendar.
    Scheduled(Schedule),
    /// At a reading that shows the quantity past a level.
    Triggered(Trigger),
}

/// A level that calls for a change.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trigger {
    /// Of what.
    pub of: Variable,
    /// The level.
    pub level: f64,
    /// Above or below it.
    pub side: Side,
}

/// Above or below.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Above.
    Above,
    /// Below.
    Below,
}

/// How much a change takes out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Amount {
    /// A share of the operating volume.
    Share(f64),
    /// Litres.
    Volume(Volume),
}

impl Amount {
    /// The litres it means for an operating volume.
    #[must_use]
    pub fn of(self, operating: Volume) -> Volume {
        match self {
            Self::Share(f) => operating * f,
            Self::Volume(v) => v,
        }
    }
}

/// How the tank is filled again.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Fill {
    /// As much as was taken out.
    #[default]
    Measured,
    /// Up to the operating level, whatever that takes.
    ToMark,
}

/// A dose at times: of a solute, of salt, of a chemical or a product with all that it brings.
#[derive(Clone, Debug, PartialEq)]
pub struct Dose {
    /// Its name in the scenario.
    pub name: String,
    /// When.
    pub schedule: Schedule,
    /// What it brings each time: kilograms of water and salt, mg or meq of solutes.
    pub brings: Vec<(Component, f64)>,
}

/// A dose that goes in all the time.
#[derive(Clone, Debug, PartialEq)]
pub struct Dosing {
    /// Its name in the scenario.
    pub name: String,
    /// What it brings a day: kilograms of water and salt, mg or meq of solutes.
    pub per_day: Vec<(Component, f64)>,
}

impl Dose {
    /// Salt, by weight.
    #[must_use]
    pub fn of_salt(name: &str, schedule: Schedule, mass: Mass) -> Self {
        Self { name: name.into(), schedule, brings: vec![(Component::Salt, mass.kg())] }
    }

    /// An amount of a solute \[mg or meq\].
    #[must_use]
    pub fn of_solute(name: &str, schedule: Schedule, solute: SoluteId, amount: f64) -> Self {
        Self { name: name.into(), schedule, brings: vec![(Component::Solute(solute), amount)] }
    }
}

impl Regime {
    /// Whether something is done by what is read: a change that waits for it, or a correction.
    #[must_use]
    pub fn goes_by_readings(&self) -> bool {
        let corrects = self.reading.as_ref().is_some_and(|reading| reading.correction.is_some());
        corrects || self.changes.iter().any(|change| matches!(change.timing, Timing::Triggered(_)))
    }
}

/// Readings of the tank, and what the keeper does about them.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// When.
    pub schedule: Schedule,
    /// Salinity is put right when the reading is off.
    pub correction: Option<Correction>,
    /// Errors of each reading in turn: of the meter \[psu\], and of a test kit as a share; none where it is empty or at its end.
    pub errors: Arc<[(f64, f64)]>,
}

/// Putting salinity right after a reading: salt water of double strength or purified water in exchange.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Correction {
    /// What the meter should show.
    pub want: PracticalSalinity,
    /// By how much the reading may be off before anything is done \[psu\].
    pub beyond_psu: f64,
    /// The share of what the reading is off that is put right at once.
    pub gain: f64,
    /// The fresh water used to bring salinity down.
    pub fresh: WaterId,
}
