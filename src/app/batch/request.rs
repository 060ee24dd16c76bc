//! What is asked of a batch.

use jiff::civil::DateTime;

use crate::model::{Change, Plan};
use crate::seawater::{Pair, Scale};
use crate::sizing::{DoseUncertainty, Heel, PLAIN_SIZES, Purifier, SaltMix, Scoop, Vessel};
use crate::units::{Power, PracticalSalinity, Temperature, Volume};

/// What is asked of a batch.
#[derive(Clone, Debug)]
pub struct BatchRequest {
    /// Finished or fresh volume.
    pub amount: BatchAmount,
    /// Target.
    pub salinity: PracticalSalinity,
    /// Temperature of the finished batch.
    pub temperature: Temperature,
    /// The salt mix.
    pub mix: SaltMix,
    /// Old water in the vessel.
    pub heel: Option<Heel>,
    /// What is uncertain about dosing.
    pub uncertainty: DoseUncertainty,
    /// The user's own vessels; the plain sizes where there are none.
    pub vessels: Vec<Vessel>,
    /// Salt by the scoop.
    pub scoop: Scoop,
    /// Scale of the meter, for the go/no-go limits.
    pub scale: Scale,
    /// The purifier, where water must be made.
    pub purifier: Option<Purifier>,
    /// The heater, and the temperature of the water before it runs.
    pub heater: Option<(Power, Temperature)>,
    /// Whether the vessel stands open while it is heated.
    pub open: bool,
    /// Temperature of the room.
    pub room: Temperature,
    /// Alkalinity of the finished water \[meq/L\].
    pub alkalinity_meq_per_l: f64,
    /// CO2 of the room's air \[µatm\].
    pub co2_uatm: f64,
    /// Days that the water is stored.
    pub store_days: f64,
    /// The hour of the change.
    pub by: Option<DateTime>,
    /// The earliest that work can begin.
    pub earliest: Option<DateTime>,
}

impl BatchRequest {
    /// The batch of a change of a plan: its water, usual meter, mix and vessels, purified water at hand, used at once.
    #[must_use]
    pub fn of_change(plan: &Plan, change: &Change) -> Self {
        let mix = SaltMix::default();
        let water = &plan.waters[change.water];
        let alkalinity = plan.solute("alkalinity");
        Self {
            amount: BatchAmount::Finished(change.amount.of(plan.tank.operating)),
            salinity: water.salinity,
            temperature: plan.tank.temperature,
            mix,
            heel: None,
            uncertainty: DoseUncertainty { strength: mix.spread, ..DoseUncertainty::default() },
            vessels: PLAIN_SIZES.to_vec(),
            scoop: Scoop::us_cup(),
            scale: Scale::Gravity(Pair::C25),
            purifier: None,
            heater: None,
            open: false,
            room: Temperature::from_celsius(20.0),
            alkalinity_meq_per_l: alkalinity
                .map_or(USUAL_ALKALINITY_MEQ_PER_L, |i| water.concentration(plan.basis, i).unwrap_or(water.solutes[i])),
            co2_uatm: 600.0,
            store_days: 0.0,
            by: None,
            earliest: None,
        }
    }
}

/// Alkalinity of a fresh mix where the plan does not track it (7.9 dKH; common practice, no source).
const USUAL_ALKALINITY_MEQ_PER_L: f64 = 2.8;

/// How much is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BatchAmount {
    /// So much finished water.
    Finished(Volume),
    /// What the fresh water in the vessel makes.
    Fresh(Volume),
}

impl BatchAmount {
    /// The litres that were asked for.
    pub(super) const fn litres(self) -> f64 {
        match self {
            Self::Finished(volume) | Self::Fresh(volume) => volume.litres(),
        }
    }
}
