//! Specific heat of sea water at one atmosphere.
//!
//! # Equation
//! ```text
//! cp = 4217.4 − 3.720283 t + 0.1412855 t² − 2.654387e-3 t³ + 2.093236e-5 t⁴
//!    + S (−7.643575 + 0.1072763 t − 1.38385e-3 t²) + S^1.5 (0.1770383 − 4.07718e-3 t + 5.148e-5 t²)
//! ```
//! in J/(kg K), t in °C on IPTS-68.
//!
//! # Valid range
//! S 0 to 40, t 0 to 40 °C (measured to 35); 0.5 J/(kg K), and within 0.12 % of TEOS-10.
//!
//! # Source
//! Millero, Perron & Desnoyers 1973, J. Geophys. Res. 78:4499-4507; Fofonoff & Millard 1983, UNESCO
//! Technical Papers in Marine Science 44, equations 26 to 29, whose check value stands at 40 °C.

use super::{RangeError, ValidRange};
use crate::numerics::Elementary;
use crate::units::{PracticalSalinity, Temperature};

const PROPERTY: &str = "heat capacity of sea water";
const SOURCE: &str = "Millero, Perron & Desnoyers 1973";
const SALINITY: ValidRange =
    ValidRange { of: "salinity [psu]", low: 0.0, high: 42.0, property: PROPERTY, source: SOURCE };
const CELSIUS: ValidRange =
    ValidRange { of: "temperature [°C]", low: 0.0, high: 40.0, property: PROPERTY, source: SOURCE };

/// Specific heat of sea water [J/(kg K)].
pub fn heat_capacity(salinity: PracticalSalinity, temperature: Temperature) -> Result<f64, RangeError> {
    let s = SALINITY.check(salinity.psu())?;
    let t = CELSIUS.check(temperature.celsius())? * 1.00024;
    Ok(4217.4
        + t * (-3.720283 + t * (0.1412855 + t * (-2.654387e-3 + t * 2.093236e-5)))
        + s * (-7.643575 + t * (0.1072763 - t * 1.38385e-3))
        + s.to_power(1.5) * (0.1770383 + t * (-4.07718e-3 + t * 5.148e-5)))
}
