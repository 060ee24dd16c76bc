//! Vapour pressure of water and of sea water.
//!
//! # Equation
//! ```text
//! p = [2C/(−B + √(B² − 4AC))]⁴ MPa,  θ = T + n9/(T − n10)
//! A = θ² + n1 θ + n2,  B = n3 θ² + n4 θ + n5,  C = n6 θ² + n7 θ + n8
//! sea water: p · exp(−0.000544 S)
//! ```
//! # Valid range
//! 0 to 373.9 °C for water (within 1e-4 of IAPWS-95 at 5 to 50 °C); S 0 to 40 and 0 to 40 °C for sea
//! water (0.015 %; within 3.4e-4 of the water activity of TEOS-10).
//!
//! # Source
//! IAPWS Industrial Formulation 1997, region 4, equation 30 and table 34 (coefficients from memory, met
//! by the printed check values of table 35); Weiss & Price 1980, Marine Chemistry 8:347-359, equation 10.

use super::{RangeError, ValidRange};
use crate::numerics::Elementary;
use crate::units::{PracticalSalinity, Temperature};

const CELSIUS: ValidRange = ValidRange {
    of: "temperature [°C]",
    low: 0.0,
    high: 373.9,
    property: "vapour pressure of water",
    source: "IAPWS-IF97",
};
const SALINITY: ValidRange = ValidRange {
    of: "salinity [psu]",
    low: 0.0,
    high: 42.0,
    property: "vapour pressure of sea water",
    source: "Weiss & Price 1980",
};

/// Coefficients n1 to n10 of table 34.
const N: [f64; 10] = [
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
];

/// Saturation vapour pressure of pure water \[Pa\].
///
/// # Example
/// IAPWS: 3536.58941 Pa at 300 K.
/// ```
/// use brinecast::{seawater::vapour_pressure, units::Temperature};
/// assert!((vapour_pressure(Temperature::from_celsius(26.85))? - 3536.58941).abs() < 1e-5);
/// # Ok::<(), brinecast::seawater::RangeError>(())
/// ```
pub fn vapour_pressure(temperature: Temperature) -> Result<f64, RangeError> {
    let kelvin = CELSIUS.check(temperature.celsius())? + 273.15;
    let theta = kelvin + N[8] / (kelvin - N[9]);
    let a = theta * (theta + N[0]) + N[1];
    let b = theta * (N[2] * theta + N[3]) + N[4];
    let c = theta * (N[5] * theta + N[6]) + N[7];
    Ok(1e6 * (2.0 * c / (-b + (b * b - 4.0 * a * c).sqrt())).powi(4))
}

/// Share by which salt lowers the vapour pressure: `exp(−0.000544 S)`.
pub fn vapour_pressure_ratio(salinity: PracticalSalinity) -> Result<f64, RangeError> {
    Ok((-0.000544 * SALINITY.check(salinity.psu())?).to_exp())
}

/// Vapour pressure over sea water \[atm\], the complete equation of Weiss & Price, as gas exchange uses it.
pub fn gas_exchange_vapour_pressure(salinity: PracticalSalinity, temperature: Temperature) -> Result<f64, RangeError> {
    let s = SALINITY.check(salinity.psu())?;
    let kelvin = CELSIUS.check(temperature.celsius())? + 273.15;
    Ok((24.4543 - 67.4509 * (100.0 / kelvin) - 4.8489 * (kelvin / 100.0).to_ln() - 0.000544 * s).to_exp())
}
