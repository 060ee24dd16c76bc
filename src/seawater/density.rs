//! Density of sea water at one atmosphere (EOS-80), and the partial volumes of water and salt.
//!
//! # Equation
//! ```text
//! ρ(S,t) = ρ0(t) + A(t) S + B(t) S^1.5 + C S²        [kg/m³], t in °C on IPTS-68
//! ```
//! # Valid range
//! S 0 to 42, t −2 to 40 °C; standard error 3.6e-3 kg/m³.
//!
//! # Source
//! Millero & Poisson 1981, Deep-Sea Res. 28A:625-629; Fofonoff & Millard 1983, UNESCO Technical
//! Papers in Marine Science 44, equations 13 and 14. It lies within 5.6e-3 kg/m³ of TEOS-10 for
//! S 0 to 42 at 5 to 35 °C, and both densities of a specific gravity come from this one equation.

use super::{G_PER_KG_PER_PSU, RangeError, ValidRange};
use crate::units::{Density, PracticalSalinity, Temperature};

const SOURCE: &str = "EOS-80, Millero & Poisson 1981";

/// Salinities and temperatures \[psu, °C\] in which [`density`] answers.
pub const DENSITY_RANGE: (ValidRange, ValidRange) = (
    ValidRange { of: "salinity [psu]", low: 0.0, high: 42.0, property: "density of sea water", source: SOURCE },
    ValidRange { of: "temperature [°C]", low: -2.0, high: 40.0, property: "density of sea water", source: SOURCE },
);

/// IPTS-68 degrees in one ITS-90 degree (Saunders 1990): the formula's temperature.
const T68_PER_T90: f64 = 1.00024;

/// ρ0, A, B, C of the equation at a temperature \[°C, ITS-90\].
fn coefficients(celsius: f64) -> [f64; 4] {
    let t = celsius * T68_PER_T90;
    [
        999.842594 + t * (6.793952e-2 + t * (-9.095290e-3 + t * (1.001685e-4 + t * (-1.120083e-6 + t * 6.536332e-9)))),
        8.24493e-1 + t * (-4.0899e-3 + t * (7.6438e-5 + t * (-8.2467e-7 + t * 5.3875e-9))),
        -5.72466e-3 + t * (1.0227e-4 - t * 1.6546e-6),
        4.8314e-4,
    ]
}

/// Density of sea water of practical salinity `salinity` at `temperature` and one atmosphere.
///
/// # Example
/// UNESCO Technical Paper 44, page 22: S = 35 at 30 °C (IPTS-68).
/// ```
/// use brinecast::{seawater::density, units::{PracticalSalinity, Temperature}};
/// let t90 = Temperature::from_celsius(30.0 / 1.00024);
/// let rho = density(PracticalSalinity::from_psu(35.0), t90)?;
/// assert!((rho.kg_per_m3() - 1021.72863949).abs() < 1e-8);
/// # Ok::<(), brinecast::seawater::RangeError>(())
/// ```
pub fn density(salinity: PracticalSalinity, temperature: Temperature) -> Result<Density, RangeError> {
    let s = DENSITY_RANGE.0.check(salinity.psu())?;
    let [rho0, a, b, c] = coefficients(DENSITY_RANGE.1.check(temperature.celsius())?);
    Ok(Density::from_kg_per_m3(rho0 + s * (a + b * s.sqrt() + c * s)))
}

/// Density of purified water at `temperature`: [`density`] at zero salinity.
pub fn fresh_water_density(temperature: Temperature) -> Result<Density, RangeError> {
    density(PracticalSalinity::from_psu(0.0), temperature)
}

/// Litres that a kilogram of water and a kilogram of salt take up in sea water of one salinity:
/// the tangent plane of the volume, `V = water·W + salt·S`, exact at that salinity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartialVolumes {
    /// Litres per kilogram of water.
    pub water: f64,
    /// Litres per kilogram of salt.
    pub salt: f64,
}

/// Partial specific volumes at a salinity and temperature.
///
/// # Equation
/// With the specific volume `v(w)` at salt mass fraction `w`: `water = v − w v'`, `salt = v + (1 − w) v'`.
pub fn partial_volumes(salinity: PracticalSalinity, temperature: Temperature) -> Result<PartialVolumes, RangeError> {
    let s = salinity.psu();
    let rho = density(salinity, temperature)?.kg_per_m3();
    let [_, a, b, c] = coefficients(temperature.celsius());
    let drho_ds = a + 1.5 * b * s.sqrt() + 2.0 * c * s;
    let w = s * G_PER_KG_PER_PSU * 1e-3;
    let v = 1e3 / rho;
    let slope = -v / rho * drho_ds * 1e3 / G_PER_KG_PER_PSU;
    Ok(PartialVolumes { water: v - w * slope, salt: v + (1.0 - w) * slope })
}

#[cfg(test)]
mod tests {
    use super::{density, partial_volumes};
    use crate::units::{PracticalSalinity, Temperature};

    #[test]
    fn partial_volumes_add_up_to_the_volume() {
        for (s, t) in [(0.0, 25.0), (11.0, 25.0), (35.0, 20.0), (42.0, 30.0)] {
            let (s, t) = (PracticalSalinity::from_psu(s), Temperature::from_celsius(t));
            let w = s.psu() * super::G_PER_KG_PER_PSU * 1e-3;
            let p = partial_volumes(s, t).expect("inside the range");
            let v = 1e3 / density(s, t).expect("inside the range").kg_per_m3();
            assert!((p.water * (1.0 - w) + p.salt * w - v).abs() < 1e-15);
        }
    }

    #[test]
    fn outside_the_range_the_answer_names_range_and_source() {
        let error = density(PracticalSalinity::from_psu(60.0), Temperature::from_celsius(25.0)).unwrap_err();
        let text = error.to_string();
        assert!(text.contains("0 to 42") && text.contains("Millero & Poisson 1981"), "{text}");
    }
}
