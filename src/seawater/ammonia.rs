//! Un-ionised ammonia: the toxic share of total ammonia.
//!
//! # Equation
//! ```text
//! share = 1/(1 + 10^(pK − pH)),   pK and pH on the total scale
//! ```
//! with the pK of ammonium of the source, a function of salinity and temperature.
//!
//! # Valid range
//! S 0 to 40, −2 to 40 °C; on the NBS scale S 20 to 40.
//!
//! # Source
//! Clegg & Whitfield 1995, Geochim. Cosmochim. Acta 59:2403-2421, eq. 18 (mol/kg of sea water, total scale).

use super::{PhScale, RangeError, ValidRange};
use crate::numerics::Elementary;
use crate::units::{PracticalSalinity, Temperature};

const PROPERTY: &str = "pK of ammonium";
const SOURCE: &str = "Clegg & Whitfield 1995";
const SALINITY: ValidRange =
    ValidRange { of: "salinity [psu]", low: 0.0, high: 40.0, property: PROPERTY, source: SOURCE };
const CELSIUS: ValidRange =
    ValidRange { of: "temperature [°C]", low: -2.0, high: 40.0, property: PROPERTY, source: SOURCE };

/// pK of ammonium on the total scale, in moles a kilogram of sea water.
pub fn ammonium_pk(salinity: PracticalSalinity, temperature: Temperature) -> Result<f64, RangeError> {
    let s = SALINITY.check(salinity.psu())?;
    let t = CELSIUS.check(temperature.celsius())? + 273.15;
    let (root, quarter) = (s.sqrt(), s.to_power(0.25));
    Ok(9.244605 - 2729.33 * (1.0 / 298.15 - 1.0 / t)
        + (0.04203362 - 11.24742 / t) * quarter
        + (-13.6416 + 1.176949 * t.sqrt() - 0.02860785 * t + 545.4834 / t) * root
        + (-0.1462507 + 0.0090226468 * t.sqrt() - 0.0001471361 * t + 10.5425 / t) * s * root
        + (0.004669309 - 0.0001691742 * t.sqrt() - 0.5677934 / t) * s * s
        + (-2.354039e-5 + 0.009698623 / t) * s * s * root
        - (1.0 - 0.001005 * s).to_log10())
}

/// The share of total ammonia that is un-ionised, at a pH on its scale.
///
/// # Example
/// published2.csv P2-NH3-18: 8.26 % at pH 8.2 on the total scale, S 35 and 25 °C; a meter set with NBS buffers that shows
/// 8.2 means 6.17 %.
/// ```
/// use brinecast::{seawater::{PhScale, toxic_share}, units::{PracticalSalinity, Temperature}};
/// let at = (PracticalSalinity::from_psu(35.0), Temperature::from_celsius(25.0));
/// assert!((toxic_share(8.2, PhScale::Total, at.0, at.1)? - 0.08255).abs() < 1e-4);
/// assert!((toxic_share(8.2, PhScale::Nbs, at.0, at.1)? - 0.06166).abs() < 2e-4);
/// # Ok::<(), brinecast::seawater::RangeError>(())
/// ```
pub fn toxic_share(
    ph: f64,
    scale: PhScale,
    salinity: PracticalSalinity,
    temperature: Temperature,
) -> Result<f64, RangeError> {
    let total = ph - scale.above_total(salinity, temperature)?;
    Ok(1.0 / (1.0 + 10f64.to_power(ammonium_pk(salinity, temperature)? - total)))
}
