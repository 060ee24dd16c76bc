//! A fully resolved plan: everything a run needs, all keys given, all units converted.

use std::fmt::Debug;
use std::sync::Arc;

use super::{Amounts, Band, Basis, Costs, Listed, Regime, SoluteId, Water, WaterId};
use crate::seawater::{PhScale, RangeError, toxic_share};
use crate::solutes::Solute;
use crate::units::{Duration, PracticalSalinity, Rate, Temperature, Volume};

/// Inputs of one run.
#[derive(Clone, Debug)]
pub struct Plan {
    /// Mass or ideal.
    pub basis: Basis,
    /// Length of the run.
    pub horizon: Duration,
    /// Spacing of the output grid; `None` records events only.
    pub output_every: Option<Duration>,
    /// The tank.
    pub tank: Tank,
    /// Named waters.
    pub waters: Listed<WaterId, Water>,
    /// Tracked solutes.
    pub species: Listed<SoluteId, Species>,
    /// All that the keeper does.
    pub regime: Regime,
    /// Allowed ranges.
    pub bands: Vec<Band>,
    /// What goes wrong, and when.
    pub disturbances: Vec<DisturbanceWindow>,
    /// Prices and times.
    pub costs: Costs,
}

impl Plan {
    /// The solute of this key.
    #[must_use]
    pub fn solute(&self, key: &str) -> Option<SoluteId> {
        self.species.find(|species| species.solute.key == key)
    }

    /// The water of this name.
    #[must_use]
    pub fn water(&self, name: &str) -> Option<WaterId> {
        self.waters.find(|water| water.name == name)
    }

    /// Lets so much of a solute be taken up a day \[amount/d\]; where it is laid down, with what calcification takes
    /// with it in the same proportion.
    pub fn take_up(&mut self, solute: SoluteId, per_day: f64) {
        let before = self.species[solute].uptake_per_day;
        if self.species[solute].calcified_per_day > 0.0 && before > 0.0 {
            let times = per_day / before;
            for species in self.species.iter_mut().filter(|s| s.calcified_per_day > 0.0) {
                species.uptake_per_day += (times - 1.0) * species.calcified_per_day;
                species.calcified_per_day *= times;
            }
            self.regime.laid_down_kg_per_d *= times;
        }
        self.species[solute].uptake_per_day = per_day;
    }

    /// The new water of the keeper: that of the first change, or else plain salt water.
    #[must_use]
    pub fn new_water(&self) -> WaterId {
        self.regime.changes.first().map_or(WaterId::SALT_WATER, |change| change.water)
    }
}

/// The vessel and what it holds at the start.
#[derive(Clone, Debug, PartialEq)]
pub struct Tank {
    /// System volume at the operating level (display + sump − displaced).
    pub operating: Volume,
    /// System volume at which water runs over; `None` never spills.
    pub rim: Option<Volume>,
    /// System volume below which the return pump draws air.
    pub starve: Option<Volume>,
    /// Temperature of the water.
    pub temperature: Temperature,
    /// Salinity at the start.
    pub salinity: PracticalSalinity,
    /// Volume at the start.
    pub volume: Volume,
    /// pH at its highest in the day, where it is known.
    pub ph: Option<Ph>,
}

/// A pH with its scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ph {
    /// At its highest in the day.
    pub highest: f64,
    /// On which scale.
    pub scale: PhScale,
}

impl Ph {
    /// The un-ionised share of total ammonia in a tank.
    pub fn toxic_share(self, salinity: PracticalSalinity, temperature: Temperature) -> Result<f64, RangeError> {
        toxic_share(self.highest, self.scale, salinity, temperature)
    }
}

/// A tracked solute and what moves it besides water.
#[derive(Clone, Debug, PartialEq)]
pub struct Species {
    /// Which.
    pub solute: Solute,
    /// Concentration at the start \[mg/L or meq/L\].
    pub initial: f64,
    /// First-order removal.
    pub removal: Rate,
    /// What animals and rock add, before any fault \[amount/d\].
    pub load_per_day: f64,
    /// Zero-order uptake, which stops at zero \[amount/d\].
    pub uptake_per_day: f64,
    /// Of the uptake, what calcification lays down \[amount/d\].
    pub calcified_per_day: f64,
    /// What it turns into.
    pub conversion: Option<Conversion>,
    /// Whether alkalinity goes with it, where both are tracked: as nitrogen is made, turned and taken, see
    /// [`Coupling`](super::Coupling).
    pub moves_alkalinity: bool,
}

/// A first-order reaction into another solute.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conversion {
    /// How fast.
    pub rate: Rate,
    /// Which solute is made.
    pub into: SoluteId,
    /// Amount made for each amount used.
    pub yield_by_amount: f64,
}

/// Something that goes wrong for a while.
///
/// While it is on, the plan in force is the scenario's regime, bent by each disturbance in turn.
pub trait Disturbance: Debug + Send + Sync {
    /// Its name in files.
    fn key(&self) -> &'static str;
    /// Changes the regime while it is on.
    fn modify(&self, plan: &Plan, regime: &mut Regime);
    /// What it adds to the tank at the moment it begins: water kg, salt kg, then the solutes.
    fn impulse(&self, _plan: &Plan, _tank: &TankState<'_>) -> Option<Amounts> {
        None
    }
}

/// The tank at the moment a disturbance begins.
#[derive(Clone, Copy, Debug)]
pub struct TankState<'a> {
    /// Water kg, salt kg, then the solutes.
    pub amounts: &'a Amounts,
    /// System volume \[L\].
    pub volume_l: f64,
    /// What is in the top-off reservoir \[L\]; infinity where there is none.
    pub reservoir_l: f64,
}

/// A disturbance and when it is on \[d from the start\].
#[derive(Clone, Debug)]
pub struct DisturbanceWindow {
    /// What.
    pub what: Arc<dyn Disturbance>,
    /// From.
    pub begin: f64,
    /// To; infinity for the rest of the run.
    pub end: f64,
}
