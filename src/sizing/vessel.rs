//! The smallest plain vessel that holds the batch with head-room and heel.

use crate::numerics::Elementary;
use crate::units::{Mass, Volume};

/// A vessel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vessel {
    /// Filled to the brim.
    pub brim: Volume,
    /// Diameter of its base \[m\].
    pub base_m: f64,
    /// Empty mass \[kg\].
    pub tare_kg: f64,
}

/// Plain sizes: buckets, bins, drums, tanks; brim \[L\], base \[m\], empty \[kg\]. Bases and tares are
/// common practice, no source.
pub const PLAIN_SIZES: [Vessel; 13] = [
    vessel(10.0, 0.24, 0.5),
    vessel(18.9, 0.27, 0.9),
    vessel(25.0, 0.29, 1.2),
    vessel(30.0, 0.31, 1.5),
    vessel(60.0, 0.38, 3.0),
    vessel(75.7, 0.43, 3.5),
    vessel(121.0, 0.50, 5.0),
    vessel(166.0, 0.55, 6.5),
    vessel(208.0, 0.56, 10.0),
    vessel(300.0, 0.65, 14.0),
    vessel(500.0, 0.80, 22.0),
    vessel(1000.0, 1.13, 60.0),
    vessel(2000.0, 1.40, 90.0),
];

const fn vessel(litres: f64, base_m: f64, tare_kg: f64) -> Vessel {
    Vessel { brim: Volume::from_litres(litres), base_m, tare_kg }
}

impl Vessel {
    /// A vessel of which only the brim volume is known: a cylinder half as high again as it is wide, of
    /// 40 g for each litre (common practice, no source).
    #[must_use]
    pub fn of_brim(brim: Volume) -> Self {
        let base_m = (brim.litres() * 1e-3 / (1.5 * std::f64::consts::FRAC_PI_4)).cube_root();
        Self { brim, base_m, tare_kg: 0.04 * brim.litres() }
    }

    /// Load under its base \[kPa\] with so much in it \[kg\].
    #[must_use]
    pub fn floor_kpa(&self, content_kg: f64) -> f64 {
        let base = std::f64::consts::PI * (self.base_m / 2.0).powi(2);
        (content_kg + self.tare_kg) * GRAVITY / base * 1e-3
    }
}

/// The smallest of some vessels that holds a volume to the brim.
#[must_use]
pub fn smallest_holding(volume: Volume, sizes: &[Vessel]) -> Option<Vessel> {
    sizes.iter().filter(|v| v.brim >= volume).min_by(|a, b| a.brim.litres().total_cmp(&b.brim.litres())).copied()
}

/// What a batch needs of a vessel, and which it gets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VesselChoice {
    /// The vessel.
    pub vessel: Vessel,
    /// How many mixes the need takes in it.
    pub mixes: u32,
    /// What each mix needs: margin, head-room and heel counted.
    pub need: Volume,
    /// Mass when full for one mix.
    pub full: Mass,
    /// Load under its base \[kPa\].
    pub floor_kpa: f64,
}

/// Share of "a bit more than needed" (common practice, no source).
const MARGIN: f64 = 0.05;
/// Share of head-room for stirring without slopping (common practice, no source).
const HEAD_ROOM: f64 = 0.05;
const GRAVITY: f64 = 9.80665;

/// Chooses the smallest vessel for a finished volume and the heel that the pump cannot draw. Where
/// even the largest is too small, the need takes more than one mix in it. `None` without vessels.
#[must_use]
pub fn choose_vessel(finished: Volume, heel: Volume, kg_per_l: f64, sizes: &[Vessel]) -> Option<VesselChoice> {
    let need_of = |mixes: u32| (finished / f64::from(mixes) * (1.0 + MARGIN) + heel) * (1.0 + HEAD_ROOM);
    let largest = sizes.iter().max_by(|a, b| a.brim.litres().total_cmp(&b.brim.litres()))?;
    let mut mixes = 1;
    let vessel = loop {
        if let Some(vessel) = smallest_holding(need_of(mixes), sizes) {
            break vessel;
        }
        // The heel alone fills it: no number of mixes helps.
        if heel * (1.0 + HEAD_ROOM) >= largest.brim || mixes > 10_000 {
            return None;
        }
        mixes += 1;
    };
    let water = (finished / f64::from(mixes) * (1.0 + MARGIN) + heel).litres() * kg_per_l;
    let full = Mass::from_kg(water + vessel.tare_kg);
    Some(VesselChoice { vessel, mixes, need: need_of(mixes), full, floor_kpa: vessel.floor_kpa(water) })
}
