//! Heating a batch: energy, hours, and whether the heater gets there at all.
//!
//! # Equation
//! ```text
//! m cp dT/dt = P − U A (T − T_room) − E L
//! ```
//! so the temperature nears `T_end = T_room + (P − E L)/(U A)` with the time constant `m cp/(U A)`.

use crate::numerics::Elementary;
use crate::seawater::{RangeError, density, heat_capacity, latent_heat};
use crate::units::{Duration, Energy, Power, PracticalSalinity, Temperature, Volume};

/// A vessel of water with a heater in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heating {
    /// How much water, measured at the start temperature.
    pub volume: Volume,
    /// Its salinity.
    pub salinity: PracticalSalinity,
    /// Temperature at the start.
    pub from: Temperature,
    /// Temperature wanted.
    pub to: Temperature,
    /// Temperature of the room.
    pub room: Temperature,
    /// The heater.
    pub heater: Power,
    /// Water evaporating from the open vessel \[kg/d\]; zero under a lid.
    pub evaporation_kg_per_day: f64,
}

/// A batch that the heater cannot warm.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum HeatError {
    /// No power.
    #[error("a heater of {0} W heats nothing: give its power, as in --heater \"300 W\"")]
    NoPower(f64),
    /// The losses win.
    #[error(
        "the heater gets the water to {reached:.1} °C at most; cover the vessel, insulate it, or take {needed:.0} W"
    )]
    TooWeak {
        /// Where it ends \[°C\].
        reached: f64,
        /// Power that would do \[W\].
        needed: f64,
    },
    /// Outside the formulas.
    #[error(transparent)]
    Range(#[from] RangeError),
}

/// Loss through the wall of a bare plastic vessel in still air [W/(m² K)] (a usual engineering value, from memory).
const WALL_W_PER_M2_K: f64 = 6.0;
/// Share of the power that a heater should have in hand beyond the losses.
const IN_HAND: f64 = 1.2;

/// Energy to heat water from one temperature to another, without losses.
///
/// # Example
/// published.csv P-HEAT-01: 100 L of 35 from 18 to 25 °C take 0.797 kWh.
/// ```
/// use brinecast::{sizing::heat_energy, units::{PracticalSalinity, Temperature, Volume}};
/// let t = Temperature::from_celsius;
/// let e = heat_energy(Volume::from_litres(100.0), PracticalSalinity::from_psu(35.0), t(18.0), t(25.0))?;
/// assert!((e.kwh() - 0.79684).abs() < 0.0024);
/// # Ok::<(), brinecast::seawater::RangeError>(())
/// ```
pub fn heat_energy(
    volume: Volume,
    salinity: PracticalSalinity,
    from: Temperature,
    to: Temperature,
) -> Result<Energy, RangeError> {
    let kg = (density(salinity, from)? * volume).kg();
    let middle = Temperature::from_celsius(0.5 * (from.celsius() + to.celsius()));
    let joules = kg * heat_capacity(salinity, middle)? * (to.celsius() - from.celsius());
    Ok(Energy::from_kwh(joules / 3.6e6))
}

impl Heating {
    /// Wall and water surface of a cylinder as high as it is wide, \[m²\].
    fn area(&self) -> f64 {
        let cubic_metres = self.volume.litres() * 1e-3;
        let diameter = (4.0 * cubic_metres / std::f64::consts::PI).cube_root();
        1.5 * std::f64::consts::PI * diameter * diameter
    }

    /// Watts lost at a temperature \[°C\].
    pub fn losses(&self, celsius: f64) -> Result<f64, RangeError> {
        let latent = latent_heat(self.to)? * self.evaporation_kg_per_day / 86_400.0;
        Ok(WALL_W_PER_M2_K * self.area() * (celsius - self.room.celsius()) + latent)
    }

    /// How long the heater takes.
    pub fn time(&self) -> Result<Duration, HeatError> {
        let (from, to) = (self.from.celsius(), self.to.celsius());
        if to <= from {
            return Ok(Duration::from_days(0.0));
        }
        let power = self.heater.watts();
        if power <= 0.0 {
            return Err(HeatError::NoPower(power));
        }
        let wall = WALL_W_PER_M2_K * self.area();
        let latent = latent_heat(self.to)? * self.evaporation_kg_per_day / 86_400.0;
        let reached = self.room.celsius() + (power - latent) / wall;
        if reached <= to {
            return Err(HeatError::TooWeak { reached, needed: IN_HAND * self.losses(to)? });
        }
        let kg = (density(self.salinity, self.from)? * self.volume).kg();
        let middle = Temperature::from_celsius(0.5 * (from + to));
        let constant_s = kg * heat_capacity(self.salinity, middle)? / wall;
        let seconds = constant_s * ((reached - from) / (reached - to)).to_ln();
        Ok(Duration::from_days(seconds / 86_400.0))
    }
}
