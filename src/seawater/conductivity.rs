//! Conductivity and practical salinity (PSS-78, with its extension below 2).
//!
//! # Valid range
//! S 0 to 42, t −2 to 35 °C at one atmosphere; about 0.0015 in salinity.
//!
//! # Source
//! Perkin & Lewis 1980, IEEE J. Oceanic Eng. 5:9-16; Fofonoff & Millard 1983, UNESCO Technical Papers
//! in Marine Science 44, pages 6-12; below 2 Hill, Dauphinee & Woods 1986, IEEE J. Oceanic Eng.
//! 11:109-112, in the scaling of TEOS-10. Computed by the crate `gsw`.

use super::{RangeError, ValidRange};
use crate::units::{Conductivity, PracticalSalinity, Temperature};

const SOURCE: &str = "PSS-78, Perkin & Lewis 1980";
const PROPERTY: &str = "conductivity of sea water";
const SALINITY: ValidRange =
    ValidRange { of: "salinity [psu]", low: 0.0, high: 42.0, property: PROPERTY, source: SOURCE };
const CELSIUS: ValidRange =
    ValidRange { of: "temperature [°C]", low: -2.0, high: 35.0, property: PROPERTY, source: SOURCE };
const MS_PER_CM: ValidRange =
    ValidRange { of: "conductivity [mS/cm]", low: 0.0, high: 80.0, property: PROPERTY, source: SOURCE };

/// Conductivity of sea water.
///
/// # Example
/// REFERENCE check value (gsw): 35 at 25 °C conducts 53.071 mS/cm.
/// ```
/// use brinecast::{seawater::conductivity, units::{PracticalSalinity, Temperature}};
/// let c = conductivity(PracticalSalinity::from_psu(35.0), Temperature::from_celsius(25.0))?;
/// assert!((c.ms_per_cm() - 53.07103204872).abs() < 1e-6);
/// # Ok::<(), brinecast::seawater::RangeError>(())
/// ```
pub fn conductivity(salinity: PracticalSalinity, temperature: Temperature) -> Result<Conductivity, RangeError> {
    let s = SALINITY.check(salinity.psu())?;
    let t = CELSIUS.check(temperature.celsius())?;
    if s == 0.0 {
        return Ok(Conductivity::from_ms_per_cm(0.0));
    }
    gsw::practical_salinity::c_from_sp(s, t, 0.0)
        .map(Conductivity::from_ms_per_cm)
        .map_err(|_| RangeError { value: s, range: SALINITY })
}

/// Practical salinity of sea water of a conductivity.
pub fn salinity_from_conductivity(
    conductivity: Conductivity,
    temperature: Temperature,
) -> Result<PracticalSalinity, RangeError> {
    let c = MS_PER_CM.check(conductivity.ms_per_cm())?;
    let t = CELSIUS.check(temperature.celsius())?;
    if c == 0.0 {
        return Ok(PracticalSalinity::from_psu(0.0));
    }
    let s = gsw::practical_salinity::sp_from_c(c, t, 0.0).map_err(|_| RangeError { value: c, range: MS_PER_CM })?;
    SALINITY.check(s).map(PracticalSalinity::from_psu)
}

/// What a meter with the common linear compensation shows for a conductivity measured at a
/// temperature: `C/(1 + 0.02 (t − 25))`. Sea water really changes by 1.97 %/°C at 25 °C and less when cold.
#[must_use]
pub fn linearly_compensated(conductivity: Conductivity, temperature: Temperature) -> Conductivity {
    conductivity / (1.0 + 0.02 * (temperature.celsius() - 25.0))
}
