//! Practical and absolute salinity.
//!
//! # Source
//! Millero, Feistel, Wright & `McDougall` 2008, Deep-Sea Res. I 55:50-72: reference-composition
//! salinity is exactly 35.16504/35 g/kg per unit of practical salinity.

use crate::units::{AbsoluteSalinity, PracticalSalinity};

/// Grams of salt per kilogram for one unit of practical salinity (exact by definition).
pub const G_PER_KG_PER_PSU: f64 = 35.16504 / 35.0;

/// Absolute salinity of standard sea water of a practical salinity.
#[must_use]
pub fn absolute_from_practical(salinity: PracticalSalinity) -> AbsoluteSalinity {
    AbsoluteSalinity::from_g_per_kg(salinity.psu() * G_PER_KG_PER_PSU)
}

/// Practical salinity of standard sea water of an absolute salinity.
#[must_use]
pub fn practical_from_absolute(salinity: AbsoluteSalinity) -> PracticalSalinity {
    PracticalSalinity::from_psu(salinity.g_per_kg() / G_PER_KG_PER_PSU)
}
