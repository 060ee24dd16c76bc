//! How long a fresh batch takes to come to the pH of the room's air.
//!
//! # Equation
//! ```text
//! d DIC/dt = (v A/V) K0 (pCO2 of the air − pCO2 of the water)
//! ```
//! at constant alkalinity, with `DIC(pCO2)` from the carbonate system: the buffer makes it an order of
//! magnitude slower than for a gas that does not react.
//!
//! # Valid range
//! Transfer velocity `v` 5 to 80 cm/h: 5 for a calm surface (a usual value, from memory); 30 and 80 for a
//! vessel turned over by a pump and one with an air stone besides, chosen so that a pumped bin takes the
//! 12 to 24 h that the trade allows (common practice, no source). The hours scale with its inverse, and
//! all three are given.

use crate::seawater::{RangeError, carbonate, carbonate_constants};
use crate::units::{PracticalSalinity, Temperature};

/// A batch in air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GasExchange {
    /// Alkalinity \[meq/L\].
    pub alkalinity_meq_per_l: f64,
    /// CO2 of the room's air \[µatm\].
    pub room_uatm: f64,
    /// CO2 in the water at the start \[µatm\]: low where a fresh mix has a high pH.
    pub start_uatm: f64,
    /// Depth of the water \[m\].
    pub depth_m: f64,
    /// Salinity.
    pub salinity: PracticalSalinity,
    /// Temperature.
    pub temperature: Temperature,
}

/// Where the pH goes and how fast.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settling {
    /// pH in equilibrium with the room, total scale.
    pub ph: f64,
    /// pH at the start.
    pub start_ph: f64,
    /// Hours to come within 0.05 of it: with pump and air stone, with a pump, calm.
    pub hours: [f64; 3],
    /// Hours until the pH is at most 8.4, the upper end at which a batch is let into a tank (common
    /// practice, no source): with pump and air stone, with a pump, calm.
    pub release_hours: [f64; 3],
    /// Saturation of aragonite in equilibrium.
    pub aragonite: f64,
}

/// Transfer velocities \[cm/h\] with pump and air stone, with a pump, and of a calm surface.
const VELOCITIES_CM_PER_H: [f64; 3] = [80.0, 30.0, 5.0];
/// pH within which the batch counts as settled.
const NEAR_PH: f64 = 0.05;
/// Highest pH at which a batch is let into a tank.
const RELEASE_PH: f64 = 8.4;
/// Steps in the logarithm of pCO2 over which the hours are summed.
const STEPS: u32 = 200;

impl GasExchange {
    /// Equilibrium and hours.
    pub fn settling(&self) -> Result<Settling, RangeError> {
        let at = |uatm: f64| carbonate(self.alkalinity_meq_per_l, uatm, None, self.salinity, self.temperature);
        let end = at(self.room_uatm)?;
        let start = at(self.start_uatm)?;
        let k = carbonate_constants(self.salinity, self.temperature)?;
        // Sum of d DIC/(pCO2 of the air − of the water), in steps of ln pCO2 from start to near the end.
        let (from, to) = (self.start_uatm.ln(), self.room_uatm.ln());
        let (mut sum, mut released) = (0.0, None);
        let mut before = start;
        for i in 1..=STEPS {
            if before.ph <= RELEASE_PH {
                released.get_or_insert(sum);
            }
            if (before.ph - end.ph).abs() <= NEAR_PH {
                break;
            }
            let here = from + (to - from) * f64::from(i) / f64::from(STEPS);
            let after = at(here.exp())?;
            let middle = (here - 0.5 * (to - from) / f64::from(STEPS)).exp();
            let moved = (after.dic_umol_per_kg - before.dic_umol_per_kg) * 1e-6;
            sum += moved / ((self.room_uatm - middle) * 1e-6 * k.k0 * k.fugacity);
            before = after;
        }
        let hours = |sum: f64| VELOCITIES_CM_PER_H.map(|v| sum * self.depth_m * 100.0 / v);
        Ok(Settling {
            ph: end.ph,
            start_ph: start.ph,
            hours: hours(sum),
            release_hours: hours(released.unwrap_or(sum)),
            aragonite: end.aragonite,
        })
    }
}
