//! Salt by the scoop or cup, and the spread that scooping brings.

use crate::units::{Mass, Volume};

/// How salt is measured without a scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Scoop {
    /// A scoop that was weighed full.
    Weighed(Mass),
    /// A cup of a volume, and the bulk density of the mix \[g/mL\].
    Cup {
        /// Volume of the cup.
        volume: Volume,
        /// Bulk density.
        g_per_ml: f64,
    },
}

/// A mass in scoops.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scoops {
    /// How many.
    pub count: f64,
    /// One standard deviation of the mass, relative: scooping varies, and so does the fill.
    pub spread: f64,
}

/// Spread of a scoop that was weighed, and of a cup by bulk density: 4 and 10 % (common practice, no
/// source; half a US cup a gallon is 28 to 44 g/L over the densities seen).
const WEIGHED: f64 = 0.04;
const BY_DENSITY: f64 = 0.10;

impl Scoop {
    /// A US cup (236.6 mL) of mix of 1.15 g/mL, the middle of what is seen.
    #[must_use]
    pub const fn us_cup() -> Self {
        Self::Cup { volume: Volume::from_litres(0.2365882365), g_per_ml: 1.15 }
    }

    /// Mass of one.
    #[must_use]
    pub fn mass(&self) -> Mass {
        match self {
            Self::Weighed(mass) => *mass,
            Self::Cup { volume, g_per_ml } => Mass::from_kg(volume.litres() * g_per_ml),
        }
    }

    /// A mass counted in scoops.
    #[must_use]
    pub fn count(&self, mass: Mass) -> Scoops {
        let each = match self {
            Self::Weighed(_) => WEIGHED,
            Self::Cup { .. } => BY_DENSITY,
        };
        Scoops { count: mass / self.mass(), spread: each }
    }
}
