//! Evaporation of a still surface from the climate of the room, by two published forms.
//!
//! # Equation
//! ```text
//! forced (ASHRAE):  w = (p_w − p_a)(0.089 + 0.0782 V)/Y                    [kg/(s m²); kPa, m/s, kJ/kg]
//! free (Shah):      E = 35 ρ_w (ρ_r − ρ_w)^(1/3) (W_w − W_r)               [kg/(m² h)]
//! ```
//! with ρ the kilograms of dry air in a cubic metre of moist air, W the humidity ratio, w air
//! saturated at the water's temperature and r the room. Salt lowers `p_w` only.
//!
//! # Valid range
//! Air speed 0.05 to 0.15 m/s; water and air 0 to 40 °C. The first form is of pools in use, and is taken times 0.5 (the
//! handbook's factor of a residential pool) to 0.74 (quiet pools as measured by Smith, Lof & Jones 1998) for a surface
//! at rest; the second is of a surface at rest. What movement makes of it is counted once, on the surface at rest: the
//! factors of an overflowing one (1.5 to 2.3) were derived for the second form. The answer is a range, and the keeper's
//! own top-off log is better than either.
//!
//! # Source
//! ASHRAE Handbook, HVAC Applications (after Carrier 1918); Shah 2014, ASHRAE Transactions 120(2).

use super::{RangeError, ValidRange, latent_heat, vapour_pressure, vapour_pressure_ratio};
use crate::numerics::Elementary;
use crate::units::{Area, Fraction, PracticalSalinity, Speed, Temperature};

/// The climate over a water surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// Temperature of the air.
    pub air: Temperature,
    /// Relative humidity.
    pub humidity: Fraction,
    /// Air speed over the water.
    pub air_speed: Speed,
    /// Area of the water's surface.
    pub area: Area,
    /// What movement or a cover makes of the evaporation of a surface at rest: 1 at rest, 1.5 to 2.3 overflowing.
    pub activity: f64,
}

/// Evaporation of a surface \[kg/d\] by both forms.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurfaceEvaporation {
    /// By the form with air speed, of a pool in use.
    pub forced_kg_per_day: f64,
    /// By the form of free convection, of a surface at rest; absent where the room's air is lighter than the air at the
    /// surface, for which that form does not hold.
    pub free_kg_per_day: Option<f64>,
    /// What movement or a cover makes of a surface at rest.
    pub activity: f64,
}

/// What a surface at rest loses as a share of the form with air speed: by the handbook's factor, and as measured.
const AT_REST: [f64; 2] = [0.5, 0.74];

impl SurfaceEvaporation {
    /// Lowest and highest of what the forms give for a surface at rest, with the movement of this one \[kg/d\].
    #[must_use]
    pub fn span(&self) -> (f64, f64) {
        let forced = AT_REST.map(|share| share * self.forced_kg_per_day);
        let free = self.free_kg_per_day.unwrap_or(forced[0]);
        (self.activity * free.min(forced[0]), self.activity * free.max(forced[1]))
    }

    /// What is taken where nothing better is known \[kg/d\]: free convection where it holds, or else the lower share of
    /// the form with air speed, with the movement of this surface.
    #[must_use]
    pub fn likely(&self) -> f64 {
        self.activity * self.free_kg_per_day.unwrap_or(AT_REST[0] * self.forced_kg_per_day)
    }
}

const SPEED: ValidRange = ValidRange {
    of: "air speed [m/s]",
    low: 0.05,
    high: 0.15,
    property: "evaporation of a surface",
    source: "ASHRAE HVAC Applications",
};
const CELSIUS: ValidRange = ValidRange {
    of: "temperature [°C]",
    low: 0.0,
    high: 40.0,
    property: "evaporation of a surface",
    source: "ASHRAE HVAC Applications; Shah 2014",
};
const HUMIDITY: ValidRange = ValidRange {
    of: "relative humidity",
    low: 0.0,
    high: 1.0,
    property: "evaporation of a surface",
    source: "a share of saturation",
};
/// One standard atmosphere \[Pa\].
const ATMOSPHERE_PA: f64 = 101_325.0;
/// Gas constant of dry air [J/(kg K)], and the ratio of the molar masses of water and dry air.
const DRY_AIR: f64 = 287.042;
const WATER_TO_AIR: f64 = 0.621945;

/// Evaporation of a surface of sea water in a room.
pub fn surface_evaporation(
    water: Temperature,
    salinity: PracticalSalinity,
    room: &Room,
) -> Result<SurfaceEvaporation, RangeError> {
    let speed = SPEED.check(room.air_speed.metres_per_second())?;
    let humidity = HUMIDITY.check(room.humidity.ratio())?;
    CELSIUS.check(water.celsius())?;
    CELSIUS.check(room.air.celsius())?;
    let lowered = vapour_pressure_ratio(salinity)?;
    let at_water = vapour_pressure(water)? * lowered;
    let in_air = vapour_pressure(room.air)? * humidity;
    let area = room.area.square_metres();
    let latent_kj = latent_heat(water)? * 1e-3;
    let forced = ((at_water - in_air) * 1e-3 * (0.089 + 0.0782 * speed) / latent_kj * 86_400.0).max(0.0);
    let dry_density = |pressure: f64, t: Temperature| (ATMOSPHERE_PA - pressure) / (DRY_AIR * (t.celsius() + 273.15));
    let ratio = |pressure: f64| WATER_TO_AIR * pressure / (ATMOSPHERE_PA - pressure);
    let (dense, light) = (dry_density(in_air, room.air), dry_density(at_water, water));
    let free = (dense > light)
        .then(|| (35.0 * light * (dense - light).cube_root() * (ratio(at_water) - ratio(in_air)) * 24.0).max(0.0));
    Ok(SurfaceEvaporation {
        forced_kg_per_day: forced * area,
        free_kg_per_day: free.map(|f| f * area),
        activity: room.activity,
    })
}
