//! The scales on which people read salinity, and the way between them.

use super::specific_gravity::salinity_of_density;
use super::{
    Pair, PairError, RangeError, ValidRange, absolute_from_practical, conductivity, density, practical_from_absolute,
    refractive_index, salinity_from_conductivity, salinity_from_refractive_index, salinity_from_specific_gravity,
    specific_gravity,
};
use crate::units::{
    AbsoluteSalinity, Conductivity, ParseError, PracticalSalinity, SpecificGravity, Temperature, number_with_unit,
};

/// A way to state salinity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Scale {
    /// Practical salinity.
    Practical,
    /// Grams of salt in a kilogram.
    Absolute,
    /// Grams of salt in a litre at the water's temperature.
    GramsPerLitre,
    /// Specific gravity for a pair of temperatures.
    Gravity(Pair),
    /// Conductivity at the water's temperature.
    Conductivity,
    /// Refractive index of sea water.
    Index,
    /// Density at the water's temperature.
    Density,
}

impl ScaleError {
    /// What there is to say of a gravity without its pair.
    fn bare(typed: &str, value: f64) -> Self {
        let at = |pair: &str| {
            let scale = Scale::Gravity(Pair::parse(pair).ok()?);
            scale.practical(value, Temperature::from_celsius(25.0)).ok().map(PracticalSalinity::psu)
        };
        match (at("60F/60F"), at("25C/25C")) {
            (Some(at_60f), Some(at_25c)) => Self::BareGravity { typed: typed.trim().into(), value, at_60f, at_25c },
            _ => Self::NoPair,
        }
    }
}

/// A salinity text that cannot be read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ScaleError {
    /// The number.
    #[error(transparent)]
    Number(#[from] ParseError),
    /// The pair of temperatures.
    #[error(transparent)]
    Pair(#[from] PairError),
    /// A specific gravity without its pair.
    #[error(
        "a specific gravity needs its pair of temperatures, because 1.0264 at 25/25 °C and at 60/60 °F are not the same water: write `1.0264 sg 25C/25C`"
    )]
    NoPair,
    /// The same with its number: what it is under the two usual pairs.
    #[error(
        "a specific gravity needs its pair of temperatures: `{typed}` is {at_60f:.1} psu at 60F/60F and {at_25c:.1} psu at 25C/25C. Swing-arm and glass instruments are usually 60F/60F (common practice, no source); look at the scale and write `{value} sg 60F/60F` or `{value} sg 25C/25C`"
    )]
    BareGravity {
        /// As it was written.
        typed: String,
        /// Its number.
        value: f64,
        /// The salinity if it is of 60 °F over water of 60 °F \[psu\].
        at_60f: f64,
        /// The salinity if it is of 25 °C over water of 25 °C \[psu\].
        at_25c: f64,
    },
    /// A number alone.
    #[error("the scale of the salinity is missing: use psu, ppt, g/kg, g/L, sg 25C/25C, mS/cm, n or kg/m3")]
    NoScale,
    /// The unit.
    #[error("`{0}` is no scale of salinity: use psu, ppt, g/kg, g/L, sg 25C/25C, mS/cm, n or kg/m3")]
    Unknown(String),
    /// The value.
    #[error(transparent)]
    ValidRange(#[from] RangeError),
}

impl Scale {
    /// Reads the name of a scale: `psu`, `sg 25C/25C`, `mS/cm` …
    pub fn parse(text: &str) -> Result<Self, ScaleError> {
        let text = text.trim();
        if let Some(pair) = text.strip_prefix("sg").or_else(|| text.strip_prefix("SG")) {
            return if pair.trim().is_empty() {
                Err(ScaleError::NoPair)
            } else {
                Ok(Self::Gravity(Pair::parse(pair)?))
            };
        }
        match text {
            "psu" | "PSU" | "ppt" | "‰" | "S" => Ok(Self::Practical),
            "g/kg" => Ok(Self::Absolute),
            "g/L" | "g/l" => Ok(Self::GramsPerLitre),
            "mS/cm" | "mS" => Ok(Self::Conductivity),
            "n" => Ok(Self::Index),
            "kg/m3" | "kg/m³" => Ok(Self::Density),
            other => Err(ScaleError::Unknown(other.into())),
        }
    }

    /// Its name, with the pair of temperatures where there is one.
    #[must_use]
    pub fn name(self) -> String {
        match self {
            Self::Practical => "psu".into(),
            Self::Absolute => "g/kg".into(),
            Self::GramsPerLitre => "g/L".into(),
            Self::Gravity(pair) => format!("sg {pair}"),
            Self::Conductivity => "mS/cm".into(),
            Self::Index => "n".into(),
            Self::Density => "kg/m3".into(),
        }
    }

    /// The practical salinity of a value on this scale.
    pub fn practical(self, value: f64, temperature: Temperature) -> Result<PracticalSalinity, RangeError> {
        match self {
            Self::Practical => PSU.check(value).map(PracticalSalinity::from_psu),
            Self::Absolute => {
                let s = practical_from_absolute(AbsoluteSalinity::from_g_per_kg(value));
                PSU.check(s.psu()).map(PracticalSalinity::from_psu)
            }
            Self::GramsPerLitre => {
                let excess = |s: f64| {
                    Self::GramsPerLitre.value(PracticalSalinity::from_psu(s), temperature).unwrap_or(f64::NAN) - value
                };
                crate::numerics::find_root(excess, PSU.low, PSU.high, 1e-12)
                    .map(PracticalSalinity::from_psu)
                    .map_err(|_| RangeError { value, range: ValidRange { of: "salt [g/L]", high: 43.5, ..PSU } })
            }
            Self::Gravity(pair) => salinity_from_specific_gravity(SpecificGravity::from_ratio(value), pair),
            Self::Conductivity => salinity_from_conductivity(Conductivity::from_ms_per_cm(value), temperature),
            Self::Index => salinity_from_refractive_index(value, temperature),
            Self::Density => salinity_of_density(value, temperature),
        }
    }

    /// The value on this scale of a practical salinity.
    pub fn value(self, salinity: PracticalSalinity, temperature: Temperature) -> Result<f64, RangeError> {
        Ok(match self {
            Self::Practical => salinity.psu(),
            Self::Absolute => absolute_from_practical(salinity).g_per_kg(),
            Self::GramsPerLitre => {
                absolute_from_practical(salinity).g_per_kg() * density(salinity, temperature)?.kg_per_m3() * 1e-3
            }
            Self::Gravity(pair) => specific_gravity(salinity, pair)?.ratio(),
            Self::Conductivity => conductivity(salinity, temperature)?.ms_per_cm(),
            Self::Index => refractive_index(salinity, temperature)?,
            Self::Density => density(salinity, temperature)?.kg_per_m3(),
        })
    }
}

const PSU: ValidRange = ValidRange {
    of: "salinity [psu]",
    low: 0.0,
    high: 42.0,
    property: "practical salinity scale",
    source: "PSS-78, Perkin & Lewis 1980",
};

/// Reads a salinity on any scale, as practical salinity of water at `temperature`.
///
/// ```
/// use brinecast::{seawater::parse_salinity, units::Temperature};
/// let s = parse_salinity("1.0264 sg 25C/25C", Temperature::from_celsius(25.0))?;
/// assert!((s.psu() - 35.03).abs() < 0.01);
/// # Ok::<(), brinecast::seawater::ScaleError>(())
/// ```
pub fn parse_salinity(text: &str, temperature: Temperature) -> Result<PracticalSalinity, ScaleError> {
    let (value, unit) = number_with_unit(text)?;
    let scale = match unit {
        // A bare 1.02-something is a specific gravity that lacks its pair.
        "" | "sg" | "SG" if (0.99..1.06).contains(&value) => return Err(ScaleError::bare(text, value)),
        "" => return Err(ScaleError::NoScale),
        unit => Scale::parse(unit)?,
    };
    Ok(scale.practical(value, temperature)?)
}
