//! All that the keeper does, and what happens to the water without them.

use std::sync::Arc;

use super::{Evaporation, Schedule, Variable, Water};
use crate::instruments::Meter;
use crate::seawater::RangeError;
use crate::units::{Duration, PracticalSalinity, Volume, VolumeRate};

/// What is in force between two fault edges.
#[derive(Clone, Debug)]
pub struct Regime {
    /// Fresh water lost to the air.
    pub evaporation: Evaporation,
    /// How evaporation is made up.
    pub top_off: TopOff,
    /// Tank water leaving with the skimmate.
    pub skimmate: VolumeRate,
    /// Tank water leaving as salt creep.
    pub creep: VolumeRate,
    /// Tank water leaving through a leak.
    pub leak: VolumeRate,
    /// Water coming in that nobody asked for: how much, of which water.
    pub intrusion: Option<(VolumeRate, usize)>,
    /// Continuous exchange.
    pub exchange: Option<Exchange>,
    /// Water changes.
    pub changes: Vec<Change>,
    /// Doses.
    pub doses: Vec<Dose>,
    /// Readings of the tank.
    pub reading: Option<Reading>,
    /// The keeper's salinity meter.
    pub meter: Arc<dyn Meter>,
    /// Steady load of each solute \[amount/d\].
    pub loads: Vec<f64>,
    /// What the feed brings of each solute \[amount/d\].
    pub feed: Vec<f64>,
}

impl Regime {
    /// The true salinity of a water: what its name says, or what the keeper's meter takes for it.
    pub fn truth(&self, water: &Water) -> Result<PracticalSalinity, RangeError> {
        if water.mixed_by_meter { self.meter.truth(water.salinity, water.temperature) } else { Ok(water.salinity) }
    }
}

/// How evaporation is made up.
#[derive(Clone, Debug, PartialEq)]
pub struct TopOff {
    /// By float, by hand, or not at all.
    pub method: Method,
    /// Which water.
    pub water: usize,
    /// What the water is drawn from; `None` never runs dry.
    pub reservoir: Option<Reservoir>,
    /// Whether the float does what it should.
    pub float: FloatState,
    /// How far the float holds the level above the operating level.
    pub level_offset: Volume,
}

impl TopOff {
    /// The flow of the float's pump or valve, where there is one.
    #[must_use]
    pub const fn pump(&self) -> Option<VolumeRate> {
        match self.method {
            Method::Float(rate) => Some(rate),
            Method::None | Method::Hand(_) => None,
        }
    }

    /// When somebody tops off by hand, where somebody does.
    #[must_use]
    pub const fn by_hand(&self) -> Option<&Schedule> {
        match &self.method {
            Method::Hand(schedule) => Some(schedule),
            Method::None | Method::Float(_) => None,
        }
    }

    /// Whether anything makes up for what evaporates.
    #[must_use]
    pub const fn restores_level(&self) -> bool {
        match self.method {
            Method::Hand(_) | Method::Float(_) => true,
            Method::None => false,
        }
    }
}

/// How top-off water gets into the tank.
#[derive(Clone, Debug, PartialEq)]
pub enum Method {
    /// Not at all.
    None,
    /// By hand, up to the mark.
    Hand(Schedule),
    /// By a float and a pump or valve of this flow.
    Float(VolumeRate),
}

/// Whether a float valve works.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum FloatState {
    /// It holds the level.
    #[default]
    Works,
    /// It lets water in all the time.
    StuckOpen,
    /// It lets nothing in.
    StuckShut,
}

/// The vessel that top-off water is drawn from.
#[derive(Clone, Debug, PartialEq)]
pub struct Reservoir {
    /// What it holds when full.
    pub capacity: Volume,
    /// When it is filled up.
    pub refill: Schedule,
}

/// A continuous exchange: two pumps.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exchange {
    /// New water pumped in.
    pub inflow: VolumeRate,
    /// Tank water pumped out.
    pub outflow: VolumeRate,
    /// Which water.
    pub water: usize,
}

/// A water change by swap: drain, then fill.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// When.
    pub timing: Timing,
    /// How much is taken out.
    pub amount: Amount,
    /// Which water is put in.
    pub water: usize,
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

/// A dose of a solute, or of salt.
#[derive(Clone, Debug, PartialEq)]
pub struct Dose {
    /// Its name in the scenario.
    pub name: String,
    /// When.
    pub schedule: Schedule,
    /// Kilograms of salt.
    pub salt_kg: f64,
    /// Which solute and how much of it \[mg or meq\].
    pub solute: Option<(usize, f64)>,
}

/// Readings of the tank, and what the keeper does about them.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// When.
    pub schedule: Schedule,
    /// Salinity is put right when the reading is off.
    pub correction: Option<Correction>,
}

/// Putting salinity right after a reading: salt water of double strength or purified water in exchange.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Correction {
    /// What the meter should show.
    pub want: PracticalSalinity,
    /// By how much the reading may be off before anything is done \[psu\].
    pub beyond_psu: f64,
    /// The fresh water used to bring salinity down.
    pub fresh: usize,
}
