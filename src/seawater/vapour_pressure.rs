//! Vapour pressure of water and of sea water.
//!
//! # Equation
//! ```text
//! ln(p/22.064e6) = (647.096/T)(−7.85951783 v + 1.84408259 v^1.5 − 11.7866497 v³ + 22.6807411 v^3.5
//!                 − 15.9618719 v⁴ + 1.80122502 v^7.5),  v = 1 − T/647.096          [Pa, K]
//! sea water: p · exp(−0.000544 S)
//! ```
//! # Valid range
//! 0 to 373.9 °C for water; S 0 to 40 and 0 to 40 °C for sea water (0.015 %; within 3.4e-4 of the water
//! activity of TEOS-10).
//!
//! # Source
//! Wagner & Pruss 2002, J. Phys. Chem. Ref. Data 31:387-535 (IAPWS); Weiss & Price 1980, Marine
//! Chemistry 8:347-359, equation 10.

use super::{Range, RangeError};
use crate::units::{PracticalSalinity, Temperature};

const CELSIUS: Range = Range {
    of: "temperature [°C]",
    low: 0.0,
    high: 373.9,
    property: "vapour pressure of water",
    source: "Wagner & Pruss 2002",
};
const SALINITY: Range = Range {
    of: "salinity [psu]",
    low: 0.0,
    high: 42.0,
    property: "vapour pressure of sea water",
    source: "Weiss & Price 1980",
};

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
    let v = 1.0 - kelvin / 647.096;
    let sum = -7.85951783 * v + 1.84408259 * v.powf(1.5) - 11.7866497 * v.powi(3) + 22.6807411 * v.powf(3.5)
        - 15.9618719 * v.powi(4)
        + 1.80122502 * v.powf(7.5);
    Ok(22.064e6 * (647.096 / kelvin * sum).exp())
}

/// Share by which salt lowers the vapour pressure: `exp(−0.000544 S)`.
pub fn vapour_pressure_ratio(salinity: PracticalSalinity) -> Result<f64, RangeError> {
    Ok((-0.000544 * SALINITY.check(salinity.psu())?).exp())
}

/// Vapour pressure over sea water \[atm\], the complete equation of Weiss & Price, as gas exchange uses it.
pub fn gas_exchange_vapour_pressure(salinity: PracticalSalinity, temperature: Temperature) -> Result<f64, RangeError> {
    let s = SALINITY.check(salinity.psu())?;
    let kelvin = CELSIUS.check(temperature.celsius())? + 273.15;
    Ok((24.4543 - 67.4509 * (100.0 / kelvin) - 4.8489 * (kelvin / 100.0).ln() - 0.000544 * s).exp())
}
