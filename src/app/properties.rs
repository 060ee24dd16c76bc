//! `properties`: what sea water is, salinity by salinity, at one temperature.

use super::AppError;
use crate::seawater::{
    Pair, RangeError, conductivity, density, heat_capacity, oxygen_saturation, refractive_index, specific_gravity,
    vapour_pressure, vapour_pressure_ratio,
};
use crate::units::{Conductivity, Density, PracticalSalinity, SpecificGravity, Temperature};

/// Properties at one salinity; absent where a formula does not reach.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct PropertyRow {
    /// Practical salinity \[psu\].
    pub salinity_psu: f64,
    /// Density \[kg/m³\].
    pub density_kg_per_m3: Option<f64>,
    /// Specific gravity at 25/25 °C.
    pub sg_25_25: Option<f64>,
    /// Conductivity \[mS/cm\].
    #[serde(rename = "conductivity_mS_per_cm")]
    pub conductivity_ms_per_cm: Option<f64>,
    /// Refractive index at 589 nm.
    pub refractive_index: Option<f64>,
    /// Specific heat [J/(kg K)].
    #[serde(rename = "heat_capacity_J_per_kg_K")]
    pub heat_capacity: Option<f64>,
    /// Vapour pressure \[Pa\].
    #[serde(rename = "vapour_pressure_Pa")]
    pub vapour_pressure_pa: Option<f64>,
    /// Oxygen at saturation [µmol/kg].
    pub oxygen_umol_per_kg: Option<f64>,
}

/// Most rows of a table.
const MOST_ROWS: f64 = 1000.0;

/// A table of properties from one salinity to another.
pub fn properties(low: f64, high: f64, step: f64, temperature: Temperature) -> Result<Vec<PropertyRow>, AppError> {
    let rows = (high - low) / step;
    if !(0.0..=MOST_ROWS).contains(&rows) || step <= 0.0 {
        return Err(AppError::Usage(format!(
            "salinities from {low} to {high} in steps of {step} make no table\n  = help: at most {MOST_ROWS} rows; example: --from 30 --to 40 --step 1"
        )));
    }
    // Outside the range of the equation of state nothing is known: say so rather than print blanks.
    density(PracticalSalinity::from_psu(low), temperature)?;
    let mut table = Vec::new();
    let mut i = 0.0;
    while i <= rows + 1e-9 {
        table.push(row(PracticalSalinity::from_psu(low + step * i), temperature));
        i += 1.0;
    }
    Ok(table)
}

fn row(s: PracticalSalinity, t: Temperature) -> PropertyRow {
    let vapour = |s| -> Result<f64, RangeError> { Ok(vapour_pressure(t)? * vapour_pressure_ratio(s)?) };
    PropertyRow {
        salinity_psu: s.psu(),
        density_kg_per_m3: density(s, t).ok().map(Density::kg_per_m3),
        sg_25_25: specific_gravity(s, Pair::C25).ok().map(SpecificGravity::ratio),
        conductivity_ms_per_cm: conductivity(s, t).ok().map(Conductivity::ms_per_cm),
        refractive_index: refractive_index(s, t).ok(),
        heat_capacity: heat_capacity(s, t).ok(),
        vapour_pressure_pa: vapour(s).ok(),
        oxygen_umol_per_kg: oxygen_saturation(s, t).ok(),
    }
}
