//! One step from a reading to the salinity that is wanted.

use super::{BatchError, SaltMix};
use crate::seawater::{absolute_from_practical, density, fresh_water_density};
use crate::units::{Mass, PracticalSalinity, Temperature, Volume};

/// What to add, and what to take out first where there is no room.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Adjustment {
    /// Salt mix to add.
    pub salt_mix: Mass,
    /// Fresh water to add.
    pub fresh_water: Volume,
    /// Water to take out before.
    pub remove: Volume,
    /// Volume afterwards.
    pub finished: Volume,
}

/// The step from `reads` to `wants` in `volume` of water; `capacity` is what the vessel holds at most.
///
/// Too weak: `mix = M (S_w − S_r)/((1 − h) − S_w)`. Too salty: fresh water until the salt is spread
/// over `M S_r/S_w`; where the vessel has no room for it, water is taken out first so that the
/// finished volume fills it.
///
/// ```
/// use brinecast::sizing::{SaltMix, adjust};
/// use brinecast::units::{PracticalSalinity, Temperature, Volume};
/// let psu = PracticalSalinity::from_psu;
/// let step = adjust(
///     Volume::from_litres(100.0), psu(36.0), psu(35.0), Temperature::from_celsius(25.0), &SaltMix::default(), None,
/// )?;
/// // About 1 part in 35 of fresh water.
/// assert!((step.fresh_water.litres() - 100.0 / 35.0).abs() < 0.1);
/// # Ok::<(), brinecast::sizing::BatchError>(())
/// ```
pub fn adjust(
    volume: Volume,
    reads: PracticalSalinity,
    wants: PracticalSalinity,
    temperature: Temperature,
    mix: &SaltMix,
    capacity: Option<Volume>,
) -> Result<Adjustment, BatchError> {
    let share = |s: PracticalSalinity| absolute_from_practical(s).g_per_kg() * 1e-3;
    let (has, goal) = (share(reads), share(wants));
    let here = density(reads, temperature)?.kg_per_m3() * 1e-3;
    let there = density(wants, temperature)?.kg_per_m3() * 1e-3;
    let fresh = fresh_water_density(temperature)?.kg_per_m3() * 1e-3;
    let room = capacity.map_or(f64::INFINITY, Volume::litres).max(volume.litres());
    let mut kg = volume.litres() * here;
    let mut remove = 0.0;
    if goal >= has {
        let strength = mix.salt() - goal;
        if strength <= 0.0 {
            return Err(BatchError::MixTooWeak(100.0 * mix.water_share));
        }
        let mix_kg = |kg: f64| kg * (goal - has) / strength;
        let finished = |kg: f64| (kg + mix_kg(kg)) / there;
        if finished(kg) > room && capacity.is_some() {
            remove = volume.litres() * (1.0 - room / finished(kg));
            kg = (volume.litres() - remove) * here;
        }
        return Ok(Adjustment {
            salt_mix: Mass::from_kg(mix_kg(kg)),
            fresh_water: Volume::from_litres(0.0),
            remove: Volume::from_litres(remove),
            finished: Volume::from_litres(finished(kg)),
        });
    }
    if goal == 0.0 {
        return Err(BatchError::HeelTooSalty {
            heel_l: volume.litres(),
            heel_psu: reads.psu(),
            finished_l: volume.litres(),
            psu: 0.0,
        });
    }
    let finished = |kg: f64| kg * has / goal / there;
    if finished(kg) > room {
        remove = volume.litres() * (1.0 - room / finished(kg));
        kg = (volume.litres() - remove) * here;
    }
    Ok(Adjustment {
        salt_mix: Mass::from_kg(0.0),
        fresh_water: Volume::from_litres(kg * (has / goal - 1.0) / fresh),
        remove: Volume::from_litres(remove),
        finished: Volume::from_litres(finished(kg)),
    })
}
