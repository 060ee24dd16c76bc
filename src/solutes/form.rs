//! Concentrations, amounts and loads of a solute as text, in any of its equivalent forms.

use super::Solute;
use crate::units::{Gallon, Mass, ParseError, Quantity, number_with_unit, over_time};

/// What a solute is counted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Base {
    /// Milligrams of the species as its name says.
    Milligrams,
    /// Milligrams of the nitrogen in it.
    MilligramsOfNitrogen,
    /// Milliequivalents of charge.
    Milliequivalents,
}

impl Base {
    /// The unit of amount.
    #[must_use]
    pub const fn amount(self) -> &'static str {
        match self {
            Self::Milligrams => "mg",
            Self::MilligramsOfNitrogen => "mg N",
            Self::Milliequivalents => "meq",
        }
    }
    /// The unit of concentration.
    #[must_use]
    pub const fn per_litre(self) -> &'static str {
        match self {
            Self::Milligrams => "mg/L",
            Self::MilligramsOfNitrogen => "mg/L N",
            Self::Milliequivalents => "meq/L",
        }
    }
    /// The unit of a load on the whole system.
    #[must_use]
    pub const fn per_litre_and_day(self) -> &'static str {
        match self {
            Self::Milligrams => "mg/L/d",
            Self::MilligramsOfNitrogen => "mg/L N/d",
            Self::Milliequivalents => "meq/L/d",
        }
    }
}

/// An equivalent way to state a concentration.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Form {
    /// As it is written: `mg/L NO3-N`, `dKH`.
    pub unit: &'static str,
    /// Base units of concentration in one of this.
    pub scale: f64,
}

/// A concentration, amount or load that cannot be read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SoluteError {
    /// The number.
    #[error(transparent)]
    Number(#[from] ParseError),
    /// The unit.
    #[error("`{unit}` is no {what} of {solute}: use one of {allowed}")]
    Unit {
        /// What stood there.
        unit: String,
        /// Concentration, amount or load.
        what: &'static str,
        /// The solute's key.
        solute: String,
        /// What would do.
        allowed: String,
    },
}

/// A load as given: by amount, or as a rise of the concentration in the whole system.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LoadText {
    /// mg/d or meq/d.
    Amount(f64),
    /// mg/(L d) or meq/(L d).
    PerLitre(f64),
}

const MILLIGRAM_UNITS: &[(&str, f64)] =
    &[("mg/L", 1.0), ("ppm", 1.0), ("g/L", 1e3), ("ug/L", 1e-3), ("µg/L", 1e-3), ("μg/L", 1e-3), ("ppb", 1e-3)];
const MILLIEQUIVALENT_UNITS: &[(&str, f64)] = &[("meq/L", 1.0), ("mmol/L", 1.0), ("eq/L", 1e3)];

fn concentration_units(solute: &Solute) -> &'static [(&'static str, f64)] {
    match solute.base {
        Base::Milligrams | Base::MilligramsOfNitrogen => MILLIGRAM_UNITS,
        Base::Milliequivalents => MILLIEQUIVALENT_UNITS,
    }
}

fn concentration_form(solute: &Solute, unit: &str) -> Option<Form> {
    let plain = concentration_units(solute).iter().find(|(name, _)| same_words(name, unit));
    plain
        .map(|(unit, scale)| Form { unit, scale: scale * solute.plain })
        .or_else(|| solute.forms.iter().copied().find(|f| same_words(f.unit, unit)))
        .or_else(|| {
            let (first, form) = unit.trim().split_once(char::is_whitespace)?;
            (first == "ppm").then(|| concentration_form(solute, &["mg/L ", form].concat())).flatten()
        })
}

/// Whether two texts have the same words, letter case and gaps aside.
fn same_words(a: &str, b: &str) -> bool {
    let (mut a, mut b) = (a.split_whitespace(), b.split_whitespace());
    loop {
        match (a.next(), b.next()) {
            (None, None) => return true,
            (Some(a), Some(b)) if a.eq_ignore_ascii_case(b) => {}
            _ => return false,
        }
    }
}

fn concentration_scale(solute: &Solute, unit: &str) -> Option<f64> {
    concentration_form(solute, unit).map(|form| form.scale)
}

/// The form in which a concentration is written, as in `8 dKH`.
#[must_use]
pub fn form_of(solute: &Solute, text: &str) -> Option<Form> {
    concentration_form(solute, number_with_unit(text).ok()?.1)
}

fn allowed(solute: &Solute, suffix: &str) -> String {
    let mut names: Vec<String> = vec![format!("{}{suffix}", solute.unit())];
    names.extend(solute.forms.iter().filter(|f| f.unit != solute.unit()).map(|f| format!("{}{suffix}", f.unit)));
    names.join(", ")
}

fn unit_error(solute: &Solute, unit: &str, what: &'static str, allowed: String) -> SoluteError {
    SoluteError::Unit { unit: unit.into(), what, solute: solute.key.to_string(), allowed }
}

/// Reads a concentration such as `5 mg/L NO3-N` or `8 dKH`, giving mg/L or meq/L.
///
/// ```
/// use brinecast::solutes::{find, parse_concentration};
/// let nitrate = find("nitrate").unwrap();
/// assert!((parse_concentration(nitrate, "1 mg/L NO3-N")? - 4.426643820946669).abs() < 1e-9);
/// # Ok::<(), brinecast::solutes::SoluteError>(())
/// ```
pub fn parse_concentration(solute: &Solute, text: &str) -> Result<f64, SoluteError> {
    let (value, unit) = number_with_unit(text)?;
    let scale = concentration_scale(solute, unit)
        .ok_or_else(|| unit_error(solute, unit, "concentration", allowed(solute, "")))?;
    Ok(value * scale)
}

fn amount_scale(solute: &Solute, unit: &str) -> Option<f64> {
    match solute.base {
        Base::Milligrams => milligrams(unit),
        Base::MilligramsOfNitrogen => match unit.strip_suffix(" N") {
            Some(of_nitrogen) => milligrams(of_nitrogen),
            None => milligrams(unit).map(|mg| mg * solute.plain),
        },
        Base::Milliequivalents => match unit {
            "meq" | "mmol" => Some(1.0),
            "eq" => Some(1e3),
            _ => None,
        },
    }
}

fn milligrams(unit: &str) -> Option<f64> {
    Mass::factor(unit, Gallon::Unstated)?.ok().map(|f| f.scale * 1e6)
}

/// A unit of amount or concentration as it stands in the name of a column: `mg_per_L`, `mg_N_per_L`.
#[must_use]
pub fn in_column(unit: &str) -> String {
    let said = unit.split_once("/L ").map_or_else(|| unit.to_owned(), |(amount, of)| format!("{amount}_{of}/L"));
    said.replace('/', "_per_").replace(' ', "_").replace('%', "percent")
}

/// Reads an amount such as `200 mg` or `10 meq`; or a concentration, by which the whole system rises.
pub fn parse_amount(solute: &Solute, text: &str) -> Result<LoadText, SoluteError> {
    let (value, unit) = number_with_unit(text)?;
    if let Some(scale) = amount_scale(solute, unit) {
        return Ok(LoadText::Amount(value * scale));
    }
    concentration_scale(solute, unit).map(|scale| LoadText::PerLitre(value * scale)).ok_or_else(|| {
        let choices = format!("{}, {}", solute.base.amount(), allowed(solute, ""));
        unit_error(solute, unit, "amount", choices)
    })
}

/// Reads a load such as `0.5 mg/L/d`, `200 mg/d` or `0.3 dKH/d`.
pub fn parse_load(solute: &Solute, text: &str) -> Result<LoadText, SoluteError> {
    let (value, unit) = number_with_unit(text)?;
    let choices = || format!("{}/d, {}", solute.base.amount(), allowed(solute, "/d"));
    let (numerator, days) = over_time(unit).ok_or_else(|| unit_error(solute, unit, "load", choices()))?;
    if let Some(scale) = amount_scale(solute, numerator) {
        return Ok(LoadText::Amount(value * scale / days));
    }
    concentration_scale(solute, numerator)
        .map(|scale| LoadText::PerLitre(value * scale / days))
        .ok_or_else(|| unit_error(solute, unit, "load", choices()))
}
