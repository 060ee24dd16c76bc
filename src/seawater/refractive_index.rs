//! Refractive index of sea water at 589.3 nm, relative to air.
//!
//! # Equation
//! ```text
//! n = 1.31405 + (1.779e-4 − 1.05e-6 t + 1.6e-8 t²) S − 2.02e-6 t²
//!   + (15.868 + 0.01155 S − 0.00423 t)/λ − 4382/λ² + 1.1455e6/λ³          λ in nm
//! ```
//! # Valid range
//! Fitted to S 0 to 35 and 0 to 30 °C within 1.5e-5. It is linear in S and used here to 40, where
//! it stays within 1.4e-4 of Matthäus 1974 and 4.1e-4 of `McNeil` 1977: the published fits differ by
//! 0.6 to 1 psu among themselves, and so does every refractometer that follows one of them.
//!
//! # Source
//! Quan & Fry 1995, Applied Optics 34:3477-3480, equation 3.

use super::{RangeError, ValidRange};
use crate::numerics::find_root;
use crate::units::{PracticalSalinity, Temperature};

const PROPERTY: &str = "refractive index of sea water";
const SOURCE: &str = "Quan & Fry 1995";
const SALINITY: ValidRange =
    ValidRange { of: "salinity [psu]", low: 0.0, high: 40.0, property: PROPERTY, source: SOURCE };
const CELSIUS: ValidRange =
    ValidRange { of: "temperature [°C]", low: 0.0, high: 30.0, property: PROPERTY, source: SOURCE };
/// The sodium D lines \[nm\].
const WAVELENGTH_NM: f64 = 589.3;

/// Refractive index of sea water.
///
/// # Example
/// REFERENCE section 2.4: n(35, 20 °C) = 1.339406.
/// ```
/// use brinecast::{seawater::refractive_index, units::{PracticalSalinity, Temperature}};
/// let n = refractive_index(PracticalSalinity::from_psu(35.0), Temperature::from_celsius(20.0))?;
/// assert!((n - 1.339406).abs() < 1e-6);
/// # Ok::<(), brinecast::seawater::RangeError>(())
/// ```
pub fn refractive_index(salinity: PracticalSalinity, temperature: Temperature) -> Result<f64, RangeError> {
    let s = SALINITY.check(salinity.psu())?;
    let t = CELSIUS.check(temperature.celsius())?;
    let l = WAVELENGTH_NM;
    Ok(1.31405 + (1.779e-4 - 1.05e-6 * t + 1.6e-8 * t * t) * s - 2.02e-6 * t * t
        + (15.868 + 0.01155 * s - 0.00423 * t) / l
        - 4382.0 / (l * l)
        + 1.1455e6 / (l * l * l))
}

/// Practical salinity of sea water of a refractive index.
pub fn salinity_from_refractive_index(index: f64, temperature: Temperature) -> Result<PracticalSalinity, RangeError> {
    refractive_index(PracticalSalinity::from_psu(0.0), temperature)?;
    let excess = |s: f64| refractive_index(PracticalSalinity::from_psu(s), temperature).map_or(f64::NAN, |n| n - index);
    find_root(excess, SALINITY.low, SALINITY.high, 1e-12).map(PracticalSalinity::from_psu).map_err(|_| RangeError {
        value: index,
        range: ValidRange { of: "refractive index", low: 1.331, high: 1.3408, property: PROPERTY, source: SOURCE },
    })
}
