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
//! all three are given. The CO2 that a fresh mix begins with has no source either and rules the hours as much, so that
//! they are given as a range over it.

use crate::numerics::Elementary;
use crate::seawater::{PhScale, RangeError, carbonate, carbonate_constants};
use crate::units::{PracticalSalinity, Temperature};

/// A batch in air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GasExchange {
    /// Alkalinity \[meq/L\].
    pub alkalinity_meq_per_l: f64,
    /// CO2 of the room's air \[µatm\].
    pub room_uatm: f64,
    /// CO2 in the water at the start \[µatm\], from and to: low where a fresh mix has a high pH.
    pub start_uatm: (f64, f64),
    /// Depth of the water \[m\].
    pub depth_m: f64,
    /// Salinity.
    pub salinity: PracticalSalinity,
    /// Temperature.
    pub temperature: Temperature,
}

/// How a batch is moved while it meets the air.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stirring {
    /// Turned over by a pump, with an air stone.
    PumpAndAirStone,
    /// Turned over by a pump.
    Pump,
    /// Left calm.
    Calm,
}

impl Stirring {
    /// Each, the quickest first.
    pub const ALL: [Self; 3] = [Self::PumpAndAirStone, Self::Pump, Self::Calm];

    /// Transfer velocity \[cm/h\].
    const fn cm_per_h(self) -> f64 {
        match self {
            Self::PumpAndAirStone => 80.0,
            Self::Pump => 30.0,
            Self::Calm => 5.0,
        }
    }

    /// Its name.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::PumpAndAirStone => "pump-and-air-stone",
            Self::Pump => "pump",
            Self::Calm => "calm",
        }
    }
}

/// Hours, from and to.
type Hours = (f64, f64);

/// Where the pH goes and how fast.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settling {
    /// pH in equilibrium with the room, total scale.
    pub ph_total: f64,
    /// The same on the NBS scale of keepers' meters.
    pub ph_nbs: f64,
    /// Saturation of aragonite in equilibrium.
    pub aragonite: f64,
    /// Hours over the depth and the transfer velocity \[d(m)/(cm/h)\], to come within 0.05 of that pH.
    settles: (f64, f64),
    /// The same until the pH is at most [`RELEASE_PH_NBS`].
    releases: Option<(f64, f64)>,
}

impl Settling {
    /// Hours to come within 0.05 of the pH of the room.
    #[must_use]
    pub fn settles(&self, stirring: Stirring) -> Hours {
        at(self.settles, stirring)
    }

    /// Hours until the batch may be let into a tank; nothing where the pH of the room is too high for that.
    #[must_use]
    pub fn releases(&self, stirring: Stirring) -> Option<Hours> {
        self.releases.map(|work| at(work, stirring))
    }
}

fn at(work: (f64, f64), stirring: Stirring) -> Hours {
    (work.0 / stirring.cm_per_h(), work.1 / stirring.cm_per_h())
}

/// CO2 in a fresh mix before it meets the air \[µatm\], from and to: low, so that its pH starts high, at about 8.5 to 8.9
/// on the NBS scale (common practice, no source).
pub const FRESH_MIX_UATM: (f64, f64) = (50.0, 200.0);
/// Highest pH, on the NBS scale, at which a batch is let into a tank (common practice, no source).
pub const RELEASE_PH_NBS: f64 = 8.4;
/// pH within which the batch counts as settled.
const NEAR_PH: f64 = 0.05;
/// Steps in the logarithm of pCO2 over which the hours are summed.
const STEPS: u32 = 200;

impl GasExchange {
    /// Equilibrium and hours.
    pub fn settling(&self) -> Result<Settling, RangeError> {
        let end = self.in_equilibrium_with(self.room_uatm)?;
        let above = PhScale::Nbs.above_total(self.salinity, self.temperature)?;
        let release = RELEASE_PH_NBS - above;
        let [slow, quick] = [self.start_uatm.0, self.start_uatm.1].map(|start| -> Result<_, RangeError> {
            let near = self.work(start, |ph| (ph - end.ph).abs() <= NEAR_PH)?;
            let released = if end.ph <= release { Some(self.work(start, |ph| ph <= release)?) } else { None };
            Ok((near, released))
        });
        let ((slow, slow_release), (quick, quick_release)) = (slow?, quick?);
        Ok(Settling {
            ph_total: end.ph,
            ph_nbs: end.ph + above,
            aragonite: end.aragonite,
            settles: (quick.min(slow), quick.max(slow)),
            releases: quick_release.zip(slow_release).map(|(a, b)| (a.min(b), a.max(b))),
        })
    }

    fn in_equilibrium_with(&self, uatm: f64) -> Result<crate::seawater::Carbonate, RangeError> {
        carbonate(self.alkalinity_meq_per_l, uatm, None, self.salinity, self.temperature)
    }

    /// Depth in cm times the sum of `d DIC/(K0 (pCO2 of the air − of the water))`, in steps of ln pCO2 from a start until
    /// the pH is there or the water has come to the air.
    fn work(&self, start_uatm: f64, there: impl Fn(f64) -> bool) -> Result<f64, RangeError> {
        let k = carbonate_constants(self.salinity, self.temperature)?;
        let (from, to) = (start_uatm.to_ln(), self.room_uatm.to_ln());
        let mut sum = 0.0;
        let mut before = self.in_equilibrium_with(start_uatm)?;
        for i in 1..=STEPS {
            if there(before.ph) {
                break;
            }
            let here = from + (to - from) * f64::from(i) / f64::from(STEPS);
            let after = self.in_equilibrium_with(here.to_exp())?;
            let middle = (here - 0.5 * (to - from) / f64::from(STEPS)).to_exp();
            let moved = (after.dic_umol_per_kg - before.dic_umol_per_kg) * 1e-6;
            sum += moved / ((self.room_uatm - middle) * 1e-6 * k.k0 * k.fugacity);
            before = after;
        }
        Ok(sum * self.depth_m * 100.0)
    }
}
