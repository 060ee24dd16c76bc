//! The dose by mass balance: for a finished volume, or for the fresh water in the vessel.

use super::SaltMix;
use crate::seawater::{RangeError, absolute_from_practical, density, fresh_water_density};
use crate::units::{Mass, PracticalSalinity, Temperature, Volume};

/// Old water left in the vessel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heel {
    /// How much.
    pub volume: Volume,
    /// Its salinity.
    pub salinity: PracticalSalinity,
}

/// A batch of salt water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Batch {
    /// Salt mix to weigh in.
    pub salt_mix: Mass,
    /// Purified water to draw, measured at the batch's temperature.
    pub fresh_water: Volume,
    /// What it comes to.
    pub finished: Volume,
    /// Mass of the finished water.
    pub mass: Mass,
    /// Litres by which the water grows while the salt dissolves.
    pub growth: Volume,
}

/// A batch that cannot be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum BatchError {
    /// The heel is too salty for the target.
    #[error(
        "the {heel_l} L left in the vessel at {heel_psu} psu hold more salt than {finished_l} L at {psu} psu: draw some of it off first, or mix more"
    )]
    HeelTooSalty {
        /// Heel.
        heel_l: f64,
        /// Its salinity.
        heel_psu: f64,
        /// Finished volume.
        finished_l: f64,
        /// Target.
        psu: f64,
    },
    /// The heel is more than the finished volume.
    #[error("the vessel already holds {heel_l} L, more than the {finished_l} L that are wanted")]
    HeelTooLarge {
        /// Heel.
        heel_l: f64,
        /// Finished volume.
        finished_l: f64,
    },
    /// The mix is weaker than the target.
    #[error("a mix with {0:.0} % of water cannot reach this salinity")]
    MixTooWeak(f64),
    /// Outside the equation of state.
    #[error(transparent)]
    Range(#[from] RangeError),
}

struct Known {
    share: f64,
    heel_kg: f64,
    heel_salt_kg: f64,
    fresh_kg_per_l: f64,
    finished_kg_per_l: f64,
}

fn known(target: PracticalSalinity, t: Temperature, heel: Option<Heel>) -> Result<Known, RangeError> {
    let share = |s: PracticalSalinity| absolute_from_practical(s).g_per_kg() * 1e-3;
    let heel_kg = heel.map_or(Ok(0.0), |h| density(h.salinity, t).map(|d| (d * h.volume).kg()))?;
    Ok(Known {
        share: share(target),
        heel_kg,
        heel_salt_kg: heel.map_or(0.0, |h| heel_kg * share(h.salinity)),
        fresh_kg_per_l: fresh_water_density(t)?.kg_per_m3() * 1e-3,
        finished_kg_per_l: density(target, t)?.kg_per_m3() * 1e-3,
    })
}

/// A batch of a finished volume, from an empty vessel or from a heel.
///
/// # Example
/// published.csv P-DOSE-09: 100 L at 35 and 25 °C from a mix with 10 % water takes 3.9984 kg.
/// ```
/// use brinecast::{sizing::{SaltMix, batch_of_finished}, units::{PracticalSalinity, Temperature, Volume}};
/// let mix = SaltMix { water_share: 0.10, spread: 0.03 };
/// let batch = batch_of_finished(Volume::from_litres(100.0), PracticalSalinity::from_psu(35.0), Temperature::from_celsius(25.0), &mix, None)?;
/// assert!((batch.salt_mix.kg() - 3.99844).abs() < 4e-5);
/// # Ok::<(), brinecast::sizing::BatchError>(())
/// ```
pub fn batch_of_finished(
    finished: Volume,
    target: PracticalSalinity,
    temperature: Temperature,
    mix: &SaltMix,
    heel: Option<Heel>,
) -> Result<Batch, BatchError> {
    let k = known(target, temperature, heel)?;
    let mass = finished.litres() * k.finished_kg_per_l;
    let heel_l = heel.map_or(0.0, |h| h.volume.litres());
    if k.heel_kg > mass {
        return Err(BatchError::HeelTooLarge { heel_l, finished_l: finished.litres() });
    }
    let salt_mix = (mass * k.share - k.heel_salt_kg) / mix.salt();
    let fresh_kg = mass - k.heel_kg - salt_mix;
    if salt_mix < 0.0 {
        return Err(BatchError::HeelTooSalty {
            heel_l,
            heel_psu: heel.map_or(0.0, |h| h.salinity.psu()),
            finished_l: finished.litres(),
            psu: target.psu(),
        });
    }
    if fresh_kg < 0.0 {
        return Err(BatchError::MixTooWeak(100.0 * mix.water_share));
    }
    let fresh_l = fresh_kg / k.fresh_kg_per_l;
    Ok(Batch {
        salt_mix: Mass::from_kg(salt_mix),
        fresh_water: Volume::from_litres(fresh_l),
        finished,
        mass: Mass::from_kg(mass),
        growth: Volume::from_litres(finished.litres() - fresh_l - heel_l),
    })
}

/// The dose for the fresh water that is in the vessel, with a heel or without.
pub fn batch_of_fresh(
    fresh: Volume,
    target: PracticalSalinity,
    temperature: Temperature,
    mix: &SaltMix,
    heel: Option<Heel>,
) -> Result<Batch, BatchError> {
    let k = known(target, temperature, heel)?;
    let fresh_kg = fresh.litres() * k.fresh_kg_per_l;
    let strength = mix.salt() - k.share;
    if strength <= 0.0 {
        return Err(BatchError::MixTooWeak(100.0 * mix.water_share));
    }
    let salt_mix = (k.share * (k.heel_kg + fresh_kg) - k.heel_salt_kg) / strength;
    let mass = k.heel_kg + fresh_kg + salt_mix;
    let finished = mass / k.finished_kg_per_l;
    let heel_l = heel.map_or(0.0, |h| h.volume.litres());
    if salt_mix < 0.0 {
        return Err(BatchError::HeelTooSalty {
            heel_l,
            heel_psu: heel.map_or(0.0, |h| h.salinity.psu()),
            finished_l: finished,
            psu: target.psu(),
        });
    }
    Ok(Batch {
        salt_mix: Mass::from_kg(salt_mix),
        fresh_water: fresh,
        finished: Volume::from_litres(finished),
        mass: Mass::from_kg(mass),
        growth: Volume::from_litres(finished - fresh.litres() - heel_l),
    })
}
