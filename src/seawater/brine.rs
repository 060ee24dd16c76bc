//! Refractive index and density of sodium chloride solutions at 20 °C.
//!
//! # Valid range
//! 0 to 8 % by mass at 20 °C, 589 nm, relative to air; straight lines between the entries of the
//! table. Its rounding (5e-5) is worth 0.3 g/kg.
//!
//! # Source
//! CRC Handbook of Chemistry and Physics, "Concentrative properties of aqueous solutions"; the index
//! column was seen second-hand only.

use super::{RangeError, ValidRange};

const PROPERTY: &str = "refractive index of sodium chloride brine at 20 °C";
const SOURCE: &str = "CRC Handbook, concentrative properties";
const PERCENT: ValidRange =
    ValidRange { of: "sodium chloride [% by mass]", low: 0.0, high: 8.0, property: PROPERTY, source: SOURCE };
const INDEX: ValidRange =
    ValidRange { of: "refractive index", low: 1.3330, high: 1.3470, property: PROPERTY, source: SOURCE };

/// Mass percent, index, density [g/cm³].
const TABLE: [(f64, f64, f64); 10] = [
    (0.0, 1.3330, 0.9982),
    (0.5, 1.3339, 1.0018),
    (1.0, 1.3347, 1.0053),
    (2.0, 1.3365, 1.0125),
    (3.0, 1.3383, 1.0196),
    (4.0, 1.3400, 1.0268),
    (5.0, 1.3418, 1.0340),
    (6.0, 1.3435, 1.0413),
    (7.0, 1.3453, 1.0486),
    (8.0, 1.3470, 1.0559),
];

fn between(from: impl Fn(&(f64, f64, f64)) -> f64, to: impl Fn(&(f64, f64, f64)) -> f64, x: f64) -> f64 {
    let i = TABLE.partition_point(|row| from(row) < x).clamp(1, TABLE.len() - 1);
    let (a, b) = (&TABLE[i - 1], &TABLE[i]);
    to(a) + (to(b) - to(a)) * (x - from(a)) / (from(b) - from(a))
}

/// Refractive index of a sodium chloride solution of a mass percent, at 20 °C.
pub fn brine_index(percent: f64) -> Result<f64, RangeError> {
    Ok(between(|r| r.0, |r| r.1, PERCENT.check(percent)?))
}

/// Density of a sodium chloride solution \[g/cm³\] of a mass percent, at 20 °C.
pub fn brine_density(percent: f64) -> Result<f64, RangeError> {
    Ok(between(|r| r.0, |r| r.2, PERCENT.check(percent)?))
}

/// Mass percent of the sodium chloride solution of a refractive index, at 20 °C.
pub fn brine_percent(index: f64) -> Result<f64, RangeError> {
    Ok(between(|r| r.1, |r| r.0, INDEX.check(index)?))
}
