//! A fully resolved plan: everything a run needs, all keys given, all units converted.

use std::fmt::Debug;
use std::sync::Arc;

use super::{Amounts, Band, Basis, Costs, Listed, Regime, SoluteId, Stop, Variable, Water, WaterId};
use crate::seawater::{PhScale, RangeError, toxic_share};
use crate::solutes::Solute;
use crate::units::{Duration, PracticalSalinity, Rate, Temperature, Volume, YEAR_D};

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
    /// Times in which something else is done.
    pub periods: Vec<Period>,
    /// Allowed ranges.
    pub bands: Vec<Band>,
    /// What goes wrong, and when.
    pub disturbances: Vec<DisturbanceWindow>,
    /// Prices and times.
    pub costs: Costs,
    /// Ends its runs early.
    pub stop: Stop,
}

/// A time in which the keeper, or the room, does something else: a holiday, a dry winter, a chiller that is on.
#[derive(Clone, Debug)]
pub struct Period {
    /// Its name in the scenario; empty where it is but a stretch of a series.
    pub name: String,
    /// Whether it is a stretch of a series, and not told as a period.
    pub of_series: bool,
    /// All that is done meanwhile.
    pub regime: Regime,
    /// From \[d from the start\].
    pub begin: f64,
    /// To \[d from the start\].
    pub end: f64,
    /// Whether it comes again every year.
    pub yearly: bool,
}

impl Period {
    /// Its begin and end in the round of years in which a time lies; those of the first where it comes but once.
    fn span(&self, time: f64) -> (f64, f64) {
        let years = if self.yearly { ((time - self.begin) / YEAR_D).floor() } else { 0.0 };
        (self.begin + years * YEAR_D, self.end + years * YEAR_D)
    }

    /// The begin and end of each of its rounds that fall into the first days.
    #[must_use]
    pub fn rounds(&self, days: f64) -> Vec<(f64, f64)> {
        let (mut begin, mut end) = self.span(0.0);
        let mut list = Vec::new();
        while begin < days {
            if end > 0.0 {
                list.push((begin, end));
            }
            if !self.yearly {
                break;
            }
            (begin, end) = (begin + YEAR_D, end + YEAR_D);
        }
        list
    }

    /// Whether it is on at some time at which another is on too.
    #[must_use]
    pub fn meets(&self, other: &Self) -> bool {
        let comes_within = |one: &Self, other: &Self| one.yearly && one.edge_after(other.begin) < other.end;
        self.is_on(other.begin) || other.is_on(self.begin) || comes_within(self, other) || comes_within(other, self)
    }

    /// Whether it is on at a time.
    #[must_use]
    pub fn is_on(&self, time: f64) -> bool {
        let (begin, end) = self.span(time);
        begin <= time && time < end
    }

    /// The first begin or end after a time; infinity where there is none.
    #[must_use]
    pub fn edge_after(&self, time: f64) -> f64 {
        let (begin, end) = self.span(time);
        let next = if self.yearly { begin + YEAR_D } else { f64::INFINITY };
        [begin, end, next].into_iter().filter(|edge| *edge > time).fold(f64::INFINITY, f64::min)
    }
}

/// Times this close \[d\] are the same instant.
const SAME_INSTANT_D: f64 = 1e-9;

/// A time in which one regime is in force.
#[derive(Clone, Copy, Debug)]
pub struct Stretch<'a> {
    /// When it begins \[d\].
    pub from: f64,
    /// When it ends \[d\].
    pub until: f64,
    /// The place of the period that is on, where one is.
    pub period: Option<usize>,
    /// What is done meanwhile.
    pub regime: &'a Regime,
}

impl Stretch<'_> {
    /// The times of a schedule that fall into it.
    #[must_use]
    pub fn times(&self, schedule: &super::Schedule) -> Vec<f64> {
        schedule.between(self.from - 1e-6, self.until - 1e-6)
    }
}

impl Plan {
    /// What is done at a time: the place of the period that is on, and its regime; else the usual one.
    #[must_use]
    pub fn regime_at(&self, time: f64) -> (Option<usize>, &Regime) {
        let on = self.periods.iter().rposition(|p| p.is_on(time));
        (on, on.map_or(&self.regime, |k| &self.periods[k].regime))
    }

    /// The stretches of time from `begin` to `end` in which one regime is in force: from when, until when, the place of
    /// its period where there is one, and the regime. What is due at the end of one is due by the next.
    #[must_use]
    pub fn stretches(&self, begin: f64, end: f64) -> Vec<Stretch<'_>> {
        let mut stretches = Vec::new();
        let mut from = begin;
        while from < end {
            let edges = self.periods.iter().map(|p| p.edge_after(from + SAME_INSTANT_D));
            let until = edges.fold(end, f64::min);
            let (period, regime) = self.regime_at(from + SAME_INSTANT_D);
            stretches.push(Stretch { from, until, period, regime });
            from = until;
        }
        stretches
    }

    /// The name of the period that is on at a time; empty where none is.
    #[must_use]
    pub fn period_at(&self, time: f64) -> &str {
        self.regime_at(time).0.map_or("", |k| &self.periods[k].name)
    }

    /// The usual regime and those of the periods.
    pub fn regimes(&self) -> impl Iterator<Item = &Regime> {
        std::iter::once(&self.regime).chain(self.periods.iter().map(|p| &p.regime))
    }

    /// The usual regime and those of the periods, to be changed.
    pub fn regimes_mut(&mut self) -> impl Iterator<Item = &mut Regime> {
        std::iter::once(&mut self.regime).chain(self.periods.iter_mut().map(|p| &mut p.regime))
    }

    /// The key and the unit of a quantity: `salinity`, or that of the solute.
    #[must_use]
    pub fn named(&self, of: Variable) -> (&str, &str) {
        match of {
            Variable::Salinity => ("salinity", "psu"),
            Variable::Solute(i) => (&self.species[i].solute.key, self.species[i].solute.unit()),
        }
    }

    /// Every quantity: salinity, then the solutes.
    pub fn quantities(&self) -> impl Iterator<Item = Variable> {
        std::iter::once(Variable::Salinity).chain(self.species.ids().map(Variable::Solute))
    }

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
