//! Quantities as a reader wants them: metric or US, rounded to what the number can bear.

use super::{Duration, Mass, Temperature, Volume, VolumeRate, significant, trimmed};

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

    /// Symbol and size in litres of the unit of volume.
    #[must_use]
    pub fn volume_unit(self) -> (&'static str, f64) {
        match self {
            Self::Metric => ("L", 1.0),
            Self::Us => ("US gal", 3.785411784),
            Self::Imperial => ("imp gal", 4.54609),
        }
    }
}

/// A quantity that can be shown in a system of units.
pub trait Display {
    /// The number and its unit, rounded for reading.
    fn show(self, system: UnitSystem) -> String;
}

impl Display for Volume {
    fn show(self, system: UnitSystem) -> String {
        let (unit, litres) = system.volume_unit();
        format!("{} {unit}", significant(self.litres() / litres, 4))
    }
}

impl Display for VolumeRate {
    fn show(self, system: UnitSystem) -> String {
        let (unit, litres) = system.volume_unit();
        format!("{} {unit}/d", significant(self.litres_per_day() / litres, 3))
    }
}

impl Display for Mass {
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

impl Display for Temperature {
    fn show(self, system: UnitSystem) -> String {
        match system {
            UnitSystem::Us => format!("{} °F", trimmed(self.celsius() * 1.8 + 32.0, 1)),
            _ => format!("{} °C", trimmed(self.celsius(), 1)),
        }
    }
}

impl Display for Duration {
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
