//! Oxygen of sea water in equilibrium with air at one atmosphere.
//!
//! # Valid range
//! S 0 to 42, t 0 to 40 °C.
//!
//! # Source
//! Garcia & Gordon 1992, Limnology and Oceanography 37:1307-1312, equation 8, the fit to the data of
//! Benson & Krause; coefficients and the check value (274.610 µmol/kg at S 35, 10 °C) from memory.

use super::{RangeError, ValidRange};
use crate::numerics::Elementary;
use crate::units::{PracticalSalinity, Temperature};

const PROPERTY: &str = "oxygen saturation";
const SOURCE: &str = "Garcia & Gordon 1992";
const SALINITY: ValidRange =
    ValidRange { of: "salinity [psu]", low: 0.0, high: 42.0, property: PROPERTY, source: SOURCE };
const CELSIUS: ValidRange =
    ValidRange { of: "temperature [°C]", low: 0.0, high: 40.0, property: PROPERTY, source: SOURCE };

/// Dissolved oxygen at saturation [µmol/kg].
///
/// ```
/// use brinecast::{seawater::oxygen_saturation, units::{PracticalSalinity, Temperature}};
/// let o2 = oxygen_saturation(PracticalSalinity::from_psu(35.0), Temperature::from_celsius(10.0))?;
/// assert!((o2 - 274.610).abs() < 1e-3);
/// # Ok::<(), brinecast::seawater::RangeError>(())
/// ```
pub fn oxygen_saturation(salinity: PracticalSalinity, temperature: Temperature) -> Result<f64, RangeError> {
    let s = SALINITY.check(salinity.psu())?;
    let t = CELSIUS.check(temperature.celsius())?;
    let x = ((298.15 - t) / (273.15 + t)).to_ln();
    let ln = 5.80871
        + x * (3.20291 + x * (4.17887 + x * (5.10006 + x * (-9.86643e-2 + x * 3.80369))))
        + s * (-7.01577e-3 + x * (-7.70028e-3 + x * (-1.13864e-2 - x * 9.51519e-3)))
        - 2.75915e-7 * s * s;
    Ok(ln.to_exp())
}
