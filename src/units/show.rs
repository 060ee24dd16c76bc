//! Quantities as a reader wants them: metric or US, rounded to what the number can bear.

use std::sync::Arc;

use super::{
    Duration, Factor, Gallon, Mass, Pressure, Quantity, Temperature, Volume, VolumeRate, significant, trimmed,
};

/// The units that a screen or report shows. Input takes any unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum UnitSystem {
    /// Litres, kilograms, °C.
    #[default]
    Metric,
    /// US gallons, pounds, °F.
    Us,
    /// Imperial gallons, kilograms, °C.
    Imperial,
}

impl UnitSystem {
    /// The gallon that a bare `gal` means under this system.
    #[must_use]
    pub const fn gallon(self) -> super::Gallon {
        match self {
            Self::Metric => super::Gallon::Unstated,
            Self::Us => super::Gallon::Us,
            Self::Imperial => super::Gallon::Imperial,
        }
    }

    /// The words that name the systems, metric first.
    pub const NAMES: [&str; 3] = ["metric", "us", "imperial"];

    /// The system of a word.
    #[must_use]
    pub fn named(word: &str) -> Self {
        match word {
            "us" => Self::Us,
            "imperial" => Self::Imperial,
            _ => Self::Metric,
        }
    }

    /// Its word.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Metric => "metric",
            Self::Us => "us",
            Self::Imperial => "imperial",
        }
    }

    /// Symbol and size in litres of the unit of volume.
    #[must_use]
    pub fn volume_unit(self) -> (&'static str, f64) {
        match self {
            Self::Metric => ("L", 1.0),
            Self::Us => ("US gal", 3.785411784),
            Self::Imperial => ("imp gal", 4.54609),
        }
    }

    /// The unit in which a number counted in `unit` is shown: litres, kilograms, °C and kPa, also by the time, as in
    /// `L/d`. What this system does not change stays as it is.
    #[must_use]
    pub fn shown(self, unit: &str) -> Shown {
        let (what, per) = unit.split_once('/').map_or((unit, None), |(what, per)| (what, Some(per)));
        // A concentration, as in g/L, is no amount by the time.
        if per.is_some_and(|per| !["h", "d", "week", "month", "year"].contains(&per)) {
            return Shown::by_factor(unit.to_owned(), Factor::of(1.0));
        }
        let us = self == Self::Us;
        let (name, factor) = match what {
            "L" => {
                let (name, litres) = self.volume_unit();
                (name, Factor::of(litres))
            }
            "kg" if us => ("lb", factor_of_name::<Mass>("lb")),
            "g" if us => ("oz", Factor::of(1e3 * factor_of_name::<Mass>("oz").scale)),
            "C" | "°C" if us => ("°F", factor_of_name::<Temperature>("F")),
            "kPa" if us => ("psi", Factor::of(1e2 * factor_of_name::<Pressure>("psi").scale)),
            _ => (what, Factor::of(1.0)),
        };
        Shown::by_factor(per.map_or_else(|| name.to_owned(), |per| format!("{name}/{per}")), factor)
    }

    /// The unit of a mix's strength, counted in grams a litre.
    #[must_use]
    pub fn strength(self) -> Shown {
        let (volume, litres) = self.volume_unit();
        let mass = self.shown("g");
        Shown::by_factor(format!("{}/{volume}", mass.unit), Factor::of(mass.factor.scale / litres))
    }

    /// A difference of temperatures \[°C\], as in `9 °F`.
    #[must_use]
    pub fn temperature_step(self, celsius: f64) -> String {
        let shown = self.shown("°C");
        format!("{} {}", trimmed(shown.step(celsius), 2), shown.unit)
    }
}

fn factor_of_name<Q: Quantity>(unit: &str) -> Factor {
    Q::factor(unit, Gallon::Unstated).and_then(Result::ok).unwrap_or(Factor::of(1.0))
}

/// The unit in which a number is shown, and the way there from the unit in which it is counted.
///
/// ```
/// use brinecast::units::UnitSystem;
/// let shown = UnitSystem::Us.shown("L/d");
/// assert_eq!((shown.unit.as_str(), shown.value(3.785411784)), ("US gal/d", 1.0));
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Shown {
    /// Its name.
    pub unit: String,
    /// What one of it is in the unit that is counted.
    pub factor: Factor,
    /// How it is read on a scale that is not straight, instead of by the factor.
    pub scale: Option<Curve>,
}

/// A scale that is not straight: its readings at even steps from nothing on.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// Readings.
    pub readings: Arc<[f64]>,
    /// What lies between two of them, in the unit that is counted.
    pub step: f64,
    /// Decimals to which it is read.
    pub decimals: usize,
}

impl Curve {
    /// The reading: on the straight line between the two nearest; beyond the ends on the last line.
    fn at(&self, base: f64) -> f64 {
        let last = self.readings.len().saturating_sub(2);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "bounded on both sides")]
        let k = (base / self.step).floor().clamp(0.0, last as f64) as usize;
        let [from, to] = [k, k + 1].map(|k| self.readings.get(k).copied().unwrap_or(f64::NAN));
        from + (base / self.step - k as f64) * (to - from)
    }
}

impl Shown {
    /// A unit with its factor.
    #[must_use]
    pub fn by_factor(unit: impl Into<String>, factor: Factor) -> Self {
        Self { unit: unit.into(), factor, scale: None }
    }

    /// The number to show.
    #[must_use]
    pub fn value(&self, base: f64) -> f64 {
        match &self.scale {
            Some(scale) => scale.at(base),
            None => (base - self.factor.offset) / self.factor.scale,
        }
    }

    /// The number to show, to some digits; on a scale that is not straight to its own decimals.
    #[must_use]
    pub fn number(&self, base: f64, digits: i32) -> String {
        match &self.scale {
            Some(scale) => format!("{:.*}", scale.decimals, scale.at(base)),
            None => significant(self.value(base), digits),
        }
    }

    /// As [`Self::value`], for a difference of two numbers.
    #[must_use]
    pub fn step(&self, difference: f64) -> f64 {
        match &self.scale {
            // About sea water, where such scales are all but straight.
            Some(scale) => scale.at(USUAL + difference) - scale.at(USUAL),
            None => difference / self.factor.scale,
        }
    }

    /// Both edges of a band.
    #[must_use]
    pub fn edges(&self, band: (Option<f64>, Option<f64>)) -> (Option<f64>, Option<f64>) {
        (band.0.map(|v| self.value(v)), band.1.map(|v| self.value(v)))
    }

    /// A line through points, its values across left as they are.
    #[must_use]
    pub fn points(&self, points: &[(f64, f64)]) -> Vec<(f64, f64)> {
        points.iter().map(|(x, y)| (*x, self.value(*y))).collect()
    }
}

/// Salinity about which differences are read on a scale that is not straight \[psu\].
const USUAL: f64 = 35.0;

/// A quantity that can be shown in a system of units.
pub trait InUnits {
    /// The number and its unit, rounded for reading.
    fn show(self, system: UnitSystem) -> String;
}

impl InUnits for Volume {
    fn show(self, system: UnitSystem) -> String {
        let (unit, litres) = system.volume_unit();
        format!("{} {unit}", significant(self.litres() / litres, 4))
    }
}

impl InUnits for VolumeRate {
    fn show(self, system: UnitSystem) -> String {
        let (unit, litres) = system.volume_unit();
        format!("{} {unit}/d", significant(self.litres_per_day() / litres, 3))
    }
}

impl InUnits for Mass {
    fn show(self, system: UnitSystem) -> String {
        let kg = self.kg();
        match system {
            UnitSystem::Us if kg.abs() < 0.45359237 => format!("{} oz", significant(kg / 0.028349523125, 3)),
            UnitSystem::Us => format!("{} lb", significant(kg / 0.45359237, 4)),
            _ if kg.abs() < 1.0 => format!("{} g", significant(kg * 1e3, 3)),
            _ => format!("{} kg", significant(kg, 4)),
        }
    }
}

impl InUnits for Temperature {
    fn show(self, system: UnitSystem) -> String {
        match system {
            UnitSystem::Us => format!("{} °F", trimmed(self.celsius() * 1.8 + 32.0, 1)),
            _ => format!("{} °C", trimmed(self.celsius(), 1)),
        }
    }
}

impl InUnits for Duration {
    fn show(self, _: UnitSystem) -> String {
        let days = self.days();
        if days.abs() < 2.0 / 24.0 {
            format!("{} min", trimmed(days * 1440.0, 0))
        } else if days.abs() < 2.0 {
            format!("{} h", trimmed(days * 24.0, 1))
        } else {
            format!("{} d", trimmed(days, 1))
        }
    }
}
