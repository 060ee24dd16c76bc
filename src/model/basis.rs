//! Mass or ideal: how amounts of water and salt make a volume and a salinity.

use crate::seawater::{G_PER_KG_PER_PSU, PartialVolumes, RangeError, partial_volumes};
use crate::units::{PracticalSalinity, Temperature};

/// How volumes follow from amounts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Basis {
    /// Water and salt are weighed; volume follows from the equation of state.
    #[default]
    Mass,
    /// Volumes add and the salt content is salinity times volume, as hand calculation does.
    Ideal,
}

impl Basis {
    /// Its name in files.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Mass => "mass",
            Self::Ideal => "ideal",
        }
    }
}

/// Salinity \[psu\] by which the tank may move before the tangent plane of the volume is renewed.
/// Over 1 psu the plane is off by under 1e-6 of the volume.
const RENEW_AFTER_PSU: f64 = 1.0;

/// The linear law `V = water·W + salt·S` \[L, kg\] in force, and the salinity it is exact at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VolumeLaw {
    basis: Basis,
    temperature: Temperature,
    /// Litres per kilogram of water and of salt.
    pub volumes: PartialVolumes,
    at_psu: f64,
}

impl VolumeLaw {
    /// A salinity this close \[psu\] to the point of renewal is on it.
    pub const ON_THE_POINT_PSU: f64 = 1e-9;

    /// The law at a salinity and temperature.
    pub fn at(basis: Basis, salinity: PracticalSalinity, temperature: Temperature) -> Result<Self, RangeError> {
        let volumes = match basis {
            Basis::Mass => partial_volumes(salinity, temperature)?,
            Basis::Ideal => PartialVolumes { water: 1.0, salt: 0.0 },
        };
        Ok(Self { basis, temperature, volumes, at_psu: salinity.psu() })
    }

    /// How far \[psu\] a salinity is past the point of renewal; negative where the law still serves.
    #[must_use]
    pub fn beyond(&self, salinity_psu: f64) -> f64 {
        match self.basis {
            Basis::Mass => (salinity_psu - self.at_psu).abs() - RENEW_AFTER_PSU,
            Basis::Ideal => f64::NEG_INFINITY,
        }
    }

    /// The law renewed where `salinity` has moved away; `None` where the present one still serves.
    ///
    /// Outside the range of the equation of state the error says so and the present law stays.
    pub fn renewed(&self, salinity: PracticalSalinity) -> Result<Option<Self>, RangeError> {
        if self.beyond(salinity.psu()) < -Self::ON_THE_POINT_PSU {
            return Ok(None);
        }
        // Whole numbers, so that a settled cycle and a long run stand on the same plane.
        let anchor = PracticalSalinity::from_psu(salinity.psu().round());
        Self::at(self.basis, anchor, self.temperature).map(Some)
    }

    /// Volume \[L\] of amounts of water and salt \[kg\].
    #[must_use]
    pub fn volume(&self, water_kg: f64, salt_kg: f64) -> f64 {
        self.volumes.water * water_kg + self.volumes.salt * salt_kg
    }

    /// Practical salinity \[psu\] of amounts of water and salt \[kg\].
    #[must_use]
    pub fn salinity_psu(&self, water_kg: f64, salt_kg: f64) -> f64 {
        match self.basis {
            Basis::Mass => 1e3 * salt_kg / (water_kg + salt_kg) / G_PER_KG_PER_PSU,
            Basis::Ideal => 1e3 * salt_kg / water_kg,
        }
    }

    /// Kilograms of salt that bring `water_kg` of water to a practical salinity.
    #[must_use]
    pub fn salt_for(&self, water_kg: f64, salinity: PracticalSalinity) -> f64 {
        match self.basis {
            Basis::Mass => {
                let share = salinity.psu() * G_PER_KG_PER_PSU * 1e-3;
                water_kg * share / (1.0 - share)
            }
            Basis::Ideal => water_kg * salinity.psu() * 1e-3,
        }
    }
}
