//! Stored salt water: what evaporation does to its salinity by the day of use.

use crate::seawater::{DENSITY_RANGE, RangeError, absolute_from_practical, density, practical_from_absolute};
use crate::units::{AbsoluteSalinity, PracticalSalinity, Temperature, Volume};

/// How a store is closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lid {
    /// Open to the air.
    Open,
    /// A lid that lies on it.
    Loose,
    /// Closed tight.
    Tight,
}

impl Lid {
    /// Every kind.
    pub const ALL: [Self; 3] = [Self::Open, Self::Loose, Self::Tight];

    /// Its name.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Loose => "loose lid",
            Self::Tight => "closed",
        }
    }

    /// Share of the open surface's evaporation that is left: 1, 0.15 and 0 (common practice, no source:
    /// a cover leaves 0.1 to 0.5).
    #[must_use]
    pub const fn share(self) -> f64 {
        match self {
            Self::Open => 1.0,
            Self::Loose => 0.15,
            Self::Tight => 0.0,
        }
    }
}

/// Stored water after some days.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StoredWater {
    /// Salinity by then; `None` where so much evaporates that it leaves the range of sea-water formulas.
    pub salinity: Option<PracticalSalinity>,
    /// Fresh water that puts it right: back to the level mark.
    pub fresh_water: Volume,
    /// Days until it is off by the tolerance; infinite where it never is.
    pub keeps_days: f64,
}

/// Water stored for `days` while `evaporation_kg_per_day` would leave an open surface.
pub fn stored(
    volume: Volume,
    salinity: PracticalSalinity,
    temperature: Temperature,
    lid: Lid,
    evaporation_kg_per_day: f64,
    days: f64,
    tolerance_psu: f64,
) -> Result<StoredWater, RangeError> {
    let kg = (density(salinity, temperature)? * volume).kg();
    let share = absolute_from_practical(salinity).g_per_kg();
    let loss = evaporation_kg_per_day * lid.share();
    let after = |days: f64| {
        let left = kg - loss * days;
        let after = practical_from_absolute(AbsoluteSalinity::from_g_per_kg(share * kg / left));
        (left > 0.0 && after.psu() <= DENSITY_RANGE.0.high).then_some(after)
    };
    // S kg/(kg − loss t) = S + tolerance
    let keeps_days =
        if loss > 0.0 { kg / loss * tolerance_psu / (salinity.psu() + tolerance_psu) } else { f64::INFINITY };
    let fresh = density(PracticalSalinity::from_psu(0.0), temperature)?.kg_per_m3() * 1e-3;
    Ok(StoredWater { salinity: after(days), fresh_water: Volume::from_litres(loss * days / fresh), keeps_days })
}
