//! Specific gravity for any pair of temperatures, the pair always beside it.
//!
//! # Equation
//! ```text
//! SG(t1/t2) = ρ(S, t1) / ρ(0, t2)
//! ```
//! both densities from the one equation of [`super::density`]; it lies within 5.5e-6 of TEOS-10.

use super::{DENSITY_RANGE, RangeError, ValidRange, density, fresh_water_density};
use crate::numerics::find_root;
use crate::units::{
    Density, Gallon, PracticalSalinity, SpecificGravity, Temperature, UnitSystem, parse, significant, trimmed,
};

/// The two temperatures of a specific gravity: of the sample and of the fresh water it is compared with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    /// Of the sample.
    pub sample: Temperature,
    /// Of the fresh water.
    pub reference: Temperature,
}

/// A pair that cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is no pair of temperatures: write 25C/25C, 60F/60F or 20C/4C")]
pub struct PairError(pub String);

impl Pair {
    /// 25 °C over 25 °C.
    pub const C25: Self = Self { sample: Temperature::from_celsius(25.0), reference: Temperature::from_celsius(25.0) };
    /// 60 °F for both, the pair of many glass hydrometers.
    pub const F60: Self =
        Self { sample: Temperature::from_celsius(140.0 / 9.0), reference: Temperature::from_celsius(140.0 / 9.0) };

    /// Reads `25C/25C`, `77 F/77 F`, or `20/4` in °C.
    pub fn parse(text: &str) -> Result<Self, PairError> {
        let wrong = || PairError(text.into());
        let (a, b) = text.split_once('/').ok_or_else(wrong)?;
        let letter = |t: &str| t.trim().chars().last().filter(char::is_ascii_alphabetic);
        let read = |t: &str, other: &str| {
            let t = t.trim();
            let text = match (letter(t), letter(other)) {
                (Some(_), _) => t.to_owned(),
                (None, Some(unit)) => format!("{t} {unit}"),
                (None, None) => format!("{t} C"),
            };
            parse::<Temperature>(&text, Gallon::Unstated).map_err(|_| wrong())
        };
        Ok(Self { sample: read(a, b)?, reference: read(b, a)? })
    }
}

impl std::fmt::Display for Pair {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // Whole degrees, or tenths, on the scale that has them: 25C, 60F.
        let degrees = |t: Temperature| {
            let celsius = t.celsius();
            let tenths = 10.0 * celsius;
            if (tenths - tenths.round()).abs() < 1e-6 {
                format!("{}C", trimmed(celsius, 1))
            } else {
                format!("{}F", trimmed(UnitSystem::Us.shown("C").value(celsius), 1))
            }
        };
        write!(f, "{}/{}", degrees(self.sample), degrees(self.reference))
    }
}

/// Specific gravity of sea water.
///
/// # Example
/// REFERENCE section 2.3: S = 35 is 1.02637 at 25/25 °C, and 1.025 is not 35 but 33.2.
/// ```
/// use brinecast::{seawater::{Pair, salinity_from_specific_gravity, specific_gravity}, units::{PracticalSalinity, SpecificGravity}};
/// assert!((specific_gravity(PracticalSalinity::from_psu(35.0), Pair::C25)?.ratio() - 1.026374).abs() < 8e-6);
/// let s = salinity_from_specific_gravity(SpecificGravity::from_ratio(1.025), Pair::C25)?;
/// assert!((s.psu() - 33.2).abs() < 0.05);
/// # Ok::<(), brinecast::seawater::RangeError>(())
/// ```
pub fn specific_gravity(salinity: PracticalSalinity, pair: Pair) -> Result<SpecificGravity, RangeError> {
    let ratio = density(salinity, pair.sample)? / fresh_water_density(pair.reference)?;
    Ok(SpecificGravity::from_ratio(ratio))
}

/// Practical salinity of sea water of a specific gravity.
pub fn salinity_from_specific_gravity(gravity: SpecificGravity, pair: Pair) -> Result<PracticalSalinity, RangeError> {
    let wanted = gravity.ratio() * fresh_water_density(pair.reference)?.kg_per_m3();
    salinity_of_density(wanted, pair.sample).map_err(|_| RangeError {
        value: gravity.ratio(),
        range: ValidRange {
            of: "specific gravity",
            low: 0.9,
            high: 1.04,
            property: "specific gravity of sea water of 0 to 42 psu",
            source: "EOS-80, Millero & Poisson 1981",
        },
    })
}

/// Practical salinity of sea water of a density \[kg/m³\].
pub(super) fn salinity_of_density(kg_per_m3: f64, temperature: Temperature) -> Result<PracticalSalinity, RangeError> {
    density(PracticalSalinity::from_psu(0.0), temperature)?;
    let range = DENSITY_RANGE.0;
    let excess =
        |s: f64| density(PracticalSalinity::from_psu(s), temperature).map_or(f64::NAN, Density::kg_per_m3) - kg_per_m3;
    find_root(excess, range.low, range.high, 1e-12).map(PracticalSalinity::from_psu).map_err(|_| RangeError {
        value: kg_per_m3,
        range: ValidRange {
            of: "density [kg/m³]",
            low: 980.0,
            high: 1040.0,
            property: "density of sea water of 0 to 42 psu",
            source: range.source,
        },
    })
}

/// A specific gravity as it is shown: four decimals and its pair.
#[must_use]
pub fn shown(gravity: SpecificGravity, pair: Pair) -> String {
    format!("{} sg {pair}", significant(gravity.ratio(), 5))
}
