//! Latent heat of vaporisation.
//!
//! # Equation
//! ```text
//! L = (2.501e6 − 2.369e3 t + 2.678e-1 t² − 8.103e-3 t³ − 2.079e-5 t⁴) (1 − S_A/1000)      [J/kg of solution]
//! ```
//! # Valid range
//! 0 to 200 °C; 0.01 %, within 6e-5 of IAPWS-95 at 5 to 40 °C.
//!
//! # Source
//! Sharqawy, Lienhard & Zubair 2010, Desalination and Water Treatment 16:354-380.

use super::{RangeError, ValidRange};
use crate::units::Temperature;

const CELSIUS: ValidRange = ValidRange {
    of: "temperature [°C]",
    low: 0.0,
    high: 200.0,
    property: "latent heat of water",
    source: "Sharqawy, Lienhard & Zubair 2010",
};

/// Latent heat of a kilogram of water that evaporates [J/kg].
pub fn latent_heat(temperature: Temperature) -> Result<f64, RangeError> {
    let t = CELSIUS.check(temperature.celsius())?;
    Ok(2.501e6 + t * (-2.369e3 + t * (2.678e-1 + t * (-8.103e-3 - t * 2.079e-5))))
}
