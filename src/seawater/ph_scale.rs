//! The scales on which pH is given.
//!
//! # Equation
//! ```text
//! free − total      = log10(1 + S_T/K_S)
//! sea water − total = −log10((1 + S_T/K_S + F_T/K_F)/(1 + S_T/K_S))
//! NBS − sea water   = −log10 f_H,   f_H = 1.2948 − 0.002036 T + (0.0004607 − 1.475e-6 T) S²
//! ```
//! with `K_S` and `K_F` of [`super::carbonate_constants`], T in kelvin and S the practical salinity.
//!
//! # Valid range
//! S 20 to 40 for the NBS scale, and that of the carbonate system for the others. What a meter set with NBS buffers
//! shows in sea water depends on its electrode by 0.01 to 0.02.
//!
//! # Source
//! `f_H` Takahashi et al. 1982, GEOSECS Pacific Expedition vol. 3; `K_S` Dickson 1990; `K_F` Perez & Fraga 1987.

use super::{RangeError, ValidRange, carbonate_constants, sea_totals};
use crate::numerics::Elementary;
use crate::units::{PracticalSalinity, Temperature};

/// A scale of pH.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PhScale {
    /// Hydrogen ions with those bound to sulfate: the scale of the constants of sea water.
    Total,
    /// Free hydrogen ions.
    Free,
    /// As total, with those bound to fluoride.
    SeaWater,
    /// Set with NBS buffers of 4, 7 and 10, as keepers' meters are.
    Nbs,
}

impl PhScale {
    /// As people write it behind a pH.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Total => "total scale",
            Self::Free => "free scale",
            Self::SeaWater => "sea water scale",
            Self::Nbs => "NBS",
        }
    }
}

const NBS_SALINITY: ValidRange = ValidRange {
    of: "salinity [psu]",
    low: 20.0,
    high: 40.0,
    property: "pH on the NBS scale in sea water",
    source: "Takahashi et al. 1982",
};

impl PhScale {
    /// By how much the pH on this scale is higher than on the total scale.
    ///
    /// # Example
    /// published2.csv P2-PHS-03: 0.1365 on the NBS scale at S 35 and 25 °C: a meter's 8.40 is 8.26 on the total scale.
    /// ```
    /// use brinecast::{seawater::PhScale, units::{PracticalSalinity, Temperature}};
    /// let above = PhScale::Nbs.above_total(PracticalSalinity::from_psu(35.0), Temperature::from_celsius(25.0))?;
    /// assert!((above - 0.1365).abs() < 1e-4);
    /// # Ok::<(), brinecast::seawater::RangeError>(())
    /// ```
    pub fn above_total(self, salinity: PracticalSalinity, temperature: Temperature) -> Result<f64, RangeError> {
        let k = carbonate_constants(salinity, temperature)?;
        let totals = sea_totals(salinity);
        let (sulfate, fluoride) = (totals.sulfate / k.sulfate, totals.fluoride / k.fluoride);
        let sea_water = -((1.0 + sulfate + fluoride) / (1.0 + sulfate)).to_log10();
        Ok(match self {
            Self::Total => 0.0,
            Self::Free => (1.0 + sulfate).to_log10(),
            Self::SeaWater => sea_water,
            Self::Nbs => {
                let (s, kelvin) = (NBS_SALINITY.check(salinity.psu())?, temperature.celsius() + 273.15);
                let activity = 1.2948 - 0.002036 * kelvin + (0.0004607 - 1.475e-6 * kelvin) * s * s;
                sea_water - activity.to_log10()
            }
        })
    }
}
