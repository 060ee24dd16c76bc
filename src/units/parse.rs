//! From text to a quantity, with an answer to every mistake.

use super::mistake::ParseError;
use super::number_with_unit;

/// Which gallon a bare `gal` means: the file's stated system, or none.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Gallon {
    /// Nothing was stated: a bare `gal` is refused, naming both.
    #[default]
    Unstated,
    /// 3.785 411 784 L (231 in³, exact).
    Us,
    /// 4.546 09 L (exact).
    Imperial,
}

/// How a unit turns into the base unit: `base = value * scale + offset`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Factor {
    /// Base units in one of this unit.
    pub scale: f64,
    /// Base value of a zero in this unit (only temperatures have one).
    pub offset: f64,
}

impl Factor {
    /// A unit that is a plain multiple of the base unit.
    #[must_use]
    pub const fn of(scale: f64) -> Self {
        Self { scale, offset: 0.0 }
    }
}

/// A kind of quantity: how its texts are read and what its base unit is.
pub trait Quantity: Copy {
    /// The kind with its article, for messages: `a volume`.
    const WHAT: &'static str;
    /// Symbol of the base unit.
    const BASE: &'static str;
    /// A value as one would type it.
    const EXAMPLE: &'static str;
    /// The units to name in a message.
    const ALLOWED: &'static [&'static str];
    /// The factor of a unit's spelling, `None` where it is no unit of this kind.
    fn factor(unit: &str, gallon: Gallon) -> Option<Result<Factor, ParseError>>;
    /// From the number in the base unit.
    fn from_base(value: f64) -> Self;
    /// The number in the base unit.
    fn base(self) -> f64;
}

/// Reads a quantity such as `75 gal`, `25.5 °C` or `6 L/d`.
pub fn parse<Q: Quantity>(text: &str, gallon: Gallon) -> Result<Q, ParseError> {
    parse_base::<Q>(text, gallon).map(Q::from_base)
}

/// As [`parse`], giving the number in the base unit of `Q`.
pub fn parse_base<Q: Quantity>(text: &str, gallon: Gallon) -> Result<f64, ParseError> {
    let (value, unit) = number_with_unit(text)?;
    let factor = factor_of::<Q>(unit, gallon)?;
    Ok(value * factor.scale + factor.offset)
}

/// The factor of `unit` for `Q`, or what is wrong with it.
pub fn factor_of<Q: Quantity>(unit: &str, gallon: Gallon) -> Result<Factor, ParseError> {
    if let Some(found) = Q::factor(unit, gallon) {
        return found;
    }
    let allowed = Q::ALLOWED.join(", ");
    if unit.is_empty() {
        return Err(ParseError::NoUnit { what: Q::WHAT, allowed });
    }
    let nearest = Q::ALLOWED
        .iter()
        .map(|a| (strsim::damerau_levenshtein(&a.to_lowercase(), &unit.to_lowercase()), *a))
        .filter(|(distance, a)| *distance <= 2 && *distance < a.chars().count())
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, a)| a.to_owned());
    Err(ParseError::UnknownUnit { unit: unit.into(), what: Q::WHAT, allowed, nearest })
}

/// Finds `unit` in a table of spellings, letter case aside where no exact spelling matches.
pub(super) fn lookup(table: &[(&[&str], Factor)], unit: &str) -> Option<Factor> {
    let find =
        |same: &dyn Fn(&str) -> bool| table.iter().find(|(names, _)| names.iter().any(|n| same(n))).map(|(_, f)| *f);
    find(&|n| n == unit).or_else(|| find(&|n| n.eq_ignore_ascii_case(unit)))
}

/// Splits `L/d` or `L per day` at its time and gives the numerator and the days in the denominator.
#[must_use]
pub fn over_time(unit: &str) -> Option<(&str, f64)> {
    let (numerator, time) = unit.rsplit_once('/').or_else(|| unit.rsplit_once(" per "))?;
    let days = super::Duration::factor(time.trim(), Gallon::Unstated)?.ok()?.scale;
    Some((numerator.trim(), days))
}
