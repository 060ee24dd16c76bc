//! `properties`: what sea water is, salinity by salinity, at one temperature.

mod answer;
mod words;

pub use answer::{PropertiesAnswer, PropertyRow};

use super::AppError;
use crate::model::Ph;
use crate::units::{Conductivity, Density, Gallon, PracticalSalinity, SpecificGravity, Temperature, parse};

use crate::seawater::{
    Pair, RangeError, conductivity, density, heat_capacity, oxygen_saturation, refractive_index, specific_gravity,
    vapour_pressure, vapour_pressure_ratio,
};

/// Most rows of a table.
const MOST_ROWS: f64 = 1000.0;

/// A table of properties from one salinity to another, at a temperature with its unit; with the toxic share of total
/// ammonia where a pH is given.
pub fn properties(low: f64, high: f64, step: f64, at: &str, ph: Option<Ph>) -> Result<PropertiesAnswer, AppError> {
    let temperature: Temperature = parse(at, Gallon::Unstated).map_err(|e| AppError::Usage(e.to_string()))?;
    let rows = (high - low) / step;
    if !(0.0..=MOST_ROWS).contains(&rows) || step <= 0.0 {
        return Err(AppError::Usage(format!(
            "salinities from {low} to {high} in steps of {step} make no table\n  = help: at most {MOST_ROWS} rows; example: --salinity \"30 psu..40 psu:11\""
        )));
    }
    // Outside the range of the equation of state nothing is known: say so rather than print blanks.
    density(PracticalSalinity::from_psu(low), temperature)?;
    let mut table = Vec::new();
    let mut i = 0.0;
    while i <= rows + 1e-9 {
        table.push(row(PracticalSalinity::from_psu(low + step * i), temperature, ph));
        i += 1.0;
    }
    Ok(PropertiesAnswer {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        rows: table,
        temperature: at.to_owned(),
        warnings: Vec::new(),
    })
}

fn row(s: PracticalSalinity, t: Temperature, ph: Option<Ph>) -> PropertyRow {
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
        toxic_ammonia_share: ph.and_then(|ph| ph.toxic_share(s, t).ok()),
    }
}
