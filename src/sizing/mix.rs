//! What a salt mix is made of: dry sea salt, and water bound or taken up.
//!
//! # Equation
//! With `h` the mass fraction of water in the mix and all the rest sea salt (REFERENCE section 2.8):
//! ```text
//! per litre of fresh water:    m = ρw S_A/(1000 (1 − h) − S_A)
//! per litre of finished water: m = ρ S_A/(1000 (1 − h))
//! ```

use crate::model::USUAL_WATER_IN_MIX;
use crate::seawater::{RangeError, absolute_from_practical, density, fresh_water_density};
use crate::units::{Mass, PracticalSalinity, Temperature};

/// A salt mix.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SaltMix {
    /// Mass fraction of water in it \[1\].
    pub water_share: f64,
    /// One standard deviation of its strength, relative \[1\].
    pub spread: f64,
}

/// Whether a label counts litres of fresh or of finished water.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LabelBasis {
    /// Of the fresh water that the mix goes into.
    Fresh,
    /// Of the salt water that comes out.
    Finished,
}

/// A strength that no mix can have.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MixError {
    /// Stronger than dry salt.
    #[error(
        "{g_per_l} g/L for {psu} psu would hold more salt than it weighs: dry sea salt alone takes {least} g/L; check whether the label means fresh or finished water, and the salinity it is for"
    )]
    TooStrong {
        /// As given.
        g_per_l: f64,
        /// For which salinity.
        psu: f64,
        /// What dry salt would take.
        least: f64,
    },
    /// Weaker than any mix sold.
    #[error("{g_per_l} g/L for {psu} psu would be more than half water: check the label")]
    TooWeak {
        /// As given.
        g_per_l: f64,
        /// For which salinity.
        psu: f64,
    },
    /// No salt, or for water without any.
    #[error("{g_per_l} g/L for {psu} psu tells no strength: both must be above zero")]
    Nothing {
        /// As given.
        g_per_l: f64,
        /// For which salinity.
        psu: f64,
    },
    /// Salinity or temperature outside the equation of state.
    #[error(transparent)]
    Range(#[from] RangeError),
}

/// Typical spread of its strength by the scale: 3 % (common practice, no source).
const TYPICAL_SPREAD: f64 = 0.03;
/// A label may be rounded so far below the mass of dry salt.
const ROUNDING: f64 = 0.02;

impl Default for SaltMix {
    fn default() -> Self {
        Self { water_share: USUAL_WATER_IN_MIX, spread: TYPICAL_SPREAD }
    }
}

impl SaltMix {
    /// A mix that the label says to take so many grams a litre of, for a salinity, at 25 °C.
    pub fn from_label(g_per_l: f64, basis: LabelBasis, salinity: PracticalSalinity) -> Result<Self, MixError> {
        let t = Temperature::from_celsius(25.0);
        let share = absolute_from_practical(salinity).g_per_kg() * 1e-3;
        let (kg, psu) = (g_per_l * 1e-3, salinity.psu());
        if !(g_per_l > 0.0 && psu > 0.0) {
            return Err(MixError::Nothing { g_per_l, psu });
        }
        let fresh = fresh_water_density(t)?.kg_per_m3() * 1e-3;
        let finished = density(salinity, t)?.kg_per_m3() * 1e-3;
        let (water_share, least) = match basis {
            LabelBasis::Fresh => (1.0 - share * (1.0 + fresh / kg), fresh * share / (1.0 - share)),
            LabelBasis::Finished => (1.0 - finished * share / kg, finished * share),
        };
        if water_share < -ROUNDING {
            return Err(MixError::TooStrong { g_per_l, psu, least: (least * 1e4).round() / 10.0 });
        }
        if water_share > 0.5 {
            return Err(MixError::TooWeak { g_per_l, psu });
        }
        Ok(Self { water_share, spread: TYPICAL_SPREAD })
    }

    /// The mix that holds so much dry salt.
    #[must_use]
    pub fn for_salt(&self, salt: Mass) -> Mass {
        salt / self.salt()
    }

    /// Kilograms of sea salt in a kilogram of it.
    #[must_use]
    pub fn salt(&self) -> f64 {
        1.0 - self.water_share
    }
}
