//! Mass or ideal: how amounts of water and salt make a volume and a salinity.

use crate::seawater::{
    DENSITY_RANGE, G_PER_KG_PER_PSU, PartialVolumes, RangeError, absolute_from_practical, density, fresh_water_density,
    partial_volumes,
};
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
    /// Kilograms of water and of salt in a litre of salt water.
    pub fn content(self, salinity: PracticalSalinity, temperature: Temperature) -> Result<(f64, f64), RangeError> {
        Ok(match self {
            Self::Mass => {
                let kg = density(salinity, temperature)?.kg_per_m3() * 1e-3;
                let share = absolute_from_practical(salinity).g_per_kg() * 1e-3;
                (kg * (1.0 - share), kg * share)
            }
            Self::Ideal => (1.0, salinity.psu() * 1e-3),
        })
    }

    /// Kilograms of a litre of fresh water.
    #[must_use]
    pub fn fresh_kg_per_l(self, temperature: Temperature) -> f64 {
        match self {
            Self::Ideal => 1.0,
            Self::Mass => fresh_water_density(temperature).map_or(1.0, |d| d.kg_per_m3() * 1e-3),
        }
    }

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

/// Rounds in which a fill follows the renewals of the law that it brings about: the second is exact, as volumes are
/// linear in the litres.
const FILL_ROUNDS: usize = 3;

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

    /// The salinity at which it is exact \[psu\].
    #[must_use]
    pub const fn at_psu(&self) -> f64 {
        self.at_psu
    }

    /// Whether the equation of state holds at a salinity.
    #[must_use]
    pub fn holds_at(&self, salinity: PracticalSalinity) -> bool {
        self.basis == Basis::Ideal || DENSITY_RANGE.0.check(salinity.psu()).is_ok()
    }

    /// The first salinity \[psu\] on the way between two at which the law must be looked at again: where it is
    /// renewed, or where the range of the equation of state ends.
    #[must_use]
    pub fn next_point(&self, from: f64, to: f64) -> Option<f64> {
        if self.basis == Basis::Ideal {
            return None;
        }
        let ahead = |point: f64| if to > from { point - from } else { from - point };
        [self.at_psu - RENEW_AFTER_PSU, self.at_psu + RENEW_AFTER_PSU, DENSITY_RANGE.0.high]
            .into_iter()
            .filter(|p| ahead(*p) > Self::ON_THE_POINT_PSU && ahead(*p) < (to - from).abs())
            .min_by(|a, b| ahead(*a).total_cmp(&ahead(*b)))
    }

    /// The salinities \[psu\] strictly between which neither [`Self::next_point`] nor [`Self::renewed`] has
    /// anything to say.
    #[must_use]
    pub fn holds_between(&self) -> (f64, f64) {
        if self.basis == Basis::Ideal {
            return (f64::NEG_INFINITY, f64::INFINITY);
        }
        let reach = RENEW_AFTER_PSU - Self::ON_THE_POINT_PSU;
        (self.at_psu - reach, (self.at_psu + reach).min(DENSITY_RANGE.0.high))
    }

    /// The law renewed where `salinity` has moved away; `None` where the present one still serves.
    ///
    /// Outside the range of the equation of state the law of the range's edge is taken.
    #[must_use]
    pub fn renewed(&self, salinity: PracticalSalinity) -> Option<Self> {
        let moved = salinity.psu() - self.at_psu;
        if self.basis == Basis::Ideal || moved.abs() < RENEW_AFTER_PSU - Self::ON_THE_POINT_PSU {
            return None;
        }
        // Whole numbers, so that a settled cycle and a long run stand on the same plane. Halfway between two of them, as
        // after a start at a half, the farther is taken: rounding must not decide.
        let range = DENSITY_RANGE.0;
        let anchor =
            (salinity.psu() + 2.0 * Self::ON_THE_POINT_PSU.copysign(moved)).round().clamp(range.low, range.high);
        if anchor == self.at_psu {
            return None;
        }
        Self::at(self.basis, PracticalSalinity::from_psu(anchor), self.temperature).ok()
    }

    /// Volume \[L\] of amounts of water and salt \[kg\].
    #[must_use]
    pub fn volume(&self, water_kg: f64, salt_kg: f64) -> f64 {
        self.volumes.water * water_kg + self.volumes.salt * salt_kg
    }

    /// Volume \[L\] and practical salinity \[psu\] of amounts of water and salt \[kg\].
    #[must_use]
    pub fn weigh(&self, [water_kg, salt_kg]: [f64; 2]) -> [f64; 2] {
        [self.volume(water_kg, salt_kg), self.salinity_psu(water_kg, salt_kg)]
    }

    /// Litres by which a tank rises for a litre of a water.
    #[must_use]
    pub fn rise(&self, litre: &super::Amounts) -> f64 {
        self.volume(litre.water_kg(), litre.salt_kg())
    }

    /// Litres of a water that bring amounts of water and salt \[kg\] up to a volume \[L\], by the law that stands once
    /// they are in; none where the volume is more already.
    #[must_use]
    pub fn litres_to(&self, volume_l: f64, [water_kg, salt_kg]: [f64; 2], content: [f64; 2]) -> f64 {
        let (mut law, mut litres) = (*self, 0.0);
        for _ in 0..FILL_ROUNDS {
            let then = |litres: f64| (water_kg + litres * content[0], salt_kg + litres * content[1]);
            let (water, salt) = then(litres);
            litres += (volume_l - law.volume(water, salt)) / law.volume(content[0], content[1]);
            litres = litres.max(0.0);
            let (water, salt) = then(litres);
            match law.renewed(PracticalSalinity::from_psu(law.salinity_psu(water, salt))) {
                Some(next) => law = next,
                None => break,
            }
        }
        litres
    }

    /// Practical salinity \[psu\] of amounts of water and salt \[kg\].
    #[must_use]
    pub fn salinity_psu(&self, water_kg: f64, salt_kg: f64) -> f64 {
        match self.basis {
            Basis::Mass => 1e3 / G_PER_KG_PER_PSU * salt_kg / (water_kg + salt_kg),
            Basis::Ideal => 1e3 * salt_kg / water_kg,
        }
    }

    /// Factor and share that make `factor·S/(W + share·S)` the practical salinity \[psu\].
    #[must_use]
    pub fn salinity_weights(&self) -> [f64; 2] {
        match self.basis {
            Basis::Mass => [1e3 / G_PER_KG_PER_PSU, 1.0],
            Basis::Ideal => [1e3, 0.0],
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
