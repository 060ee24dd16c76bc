//! The carbonate system: pH from alkalinity and CO2, and the saturation of aragonite and calcite.
//!
//! # Valid range
//! S 19 to 43, t 2 to 35 °C (Lueker et al. 2000); pH on the total scale.
//!
//! # Source
//! Constants as in REFERENCE section 2.7: K0 Weiss 1974, Mar. Chem. 2:203; K1, K2 Lueker, Dickson &
//! Keeling 2000, Mar. Chem. 70:105; KB Dickson 1990, Deep-Sea Res. 37:755; KS Dickson 1990, J. Chem.
//! Thermodyn. 22:113; KF Perez & Fraga 1987, Mar. Chem. 21:161; KW Millero 1995, Geochim. Cosmochim.
//! Acta 59:661; solubility products Mucci 1983, Am. J. Sci. 283:780; totals Uppström 1974 and the Guide
//! (Dickson, Sabine & Christian 2007). Within 2e-5 of pH of an independent library at S 35, 25 °C.

use super::{RangeError, ValidRange, density};
use crate::numerics::{Elementary, find_root};
use crate::units::{PracticalSalinity, Temperature};

const PROPERTY: &str = "carbonate system of sea water";
const SOURCE: &str = "Lueker, Dickson & Keeling 2000";
const SALINITY: ValidRange =
    ValidRange { of: "salinity [psu]", low: 19.0, high: 43.0, property: PROPERTY, source: SOURCE };
const CELSIUS: ValidRange =
    ValidRange { of: "temperature [°C]", low: 2.0, high: 35.0, property: PROPERTY, source: SOURCE };
const MEQ_PER_L: ValidRange =
    ValidRange { of: "alkalinity [meq/L]", low: 0.05, high: 20.0, property: PROPERTY, source: "pH 5 to 11 in air" };
const MICROATM: ValidRange =
    ValidRange { of: "CO2 [µatm]", low: 10.0, high: 50_000.0, property: PROPERTY, source: "pH 5 to 11" };

/// Equilibrium constants at a salinity and temperature, on the total scale but for `sulfate` (free).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Constants {
    /// Solubility of CO2 [mol/(kg atm)].
    pub k0: f64,
    /// First dissociation [mol/kg].
    pub k1: f64,
    /// Second dissociation [mol/kg].
    pub k2: f64,
    /// Boric acid [mol/kg].
    pub borate: f64,
    /// Water [mol²/kg²].
    pub water: f64,
    /// Bisulfate, free scale [mol/kg].
    pub sulfate: f64,
    /// Hydrogen fluoride [mol/kg].
    pub fluoride: f64,
    /// Solubility product of aragonite [mol²/kg²].
    pub aragonite: f64,
    /// Solubility product of calcite [mol²/kg²].
    pub calcite: f64,
    /// Fugacity of CO2 for one of pressure.
    pub fugacity: f64,
}

/// Total borate, sulfate, fluoride and calcium [mol/kg].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SeaTotals {
    /// Borate (Uppström 1974).
    pub borate: f64,
    /// Sulfate.
    pub sulfate: f64,
    /// Fluoride.
    pub fluoride: f64,
    /// Calcium.
    pub calcium: f64,
}

/// What the carbonate system comes to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Carbonate {
    /// pH, total scale.
    pub ph: f64,
    /// Dissolved inorganic carbon [µmol/kg].
    pub dic_umol_per_kg: f64,
    /// Saturation state of aragonite.
    pub aragonite: f64,
    /// Saturation state of calcite.
    pub calcite: f64,
}

/// The constants.
pub fn carbonate_constants(salinity: PracticalSalinity, temperature: Temperature) -> Result<Constants, RangeError> {
    let s = SALINITY.check(salinity.psu())?;
    let t = CELSIUS.check(temperature.celsius())? + 273.15;
    let (root, ln_t, h) = (s.sqrt(), t.to_ln(), t / 100.0);
    let ionic = 19.924 * s / (1000.0 - 1.005 * s);
    let ln_k0 = -60.2409 + 93.4517 / h + 23.3585 * h.to_ln() + s * (0.023517 - 0.023656 * h + 0.0047036 * h * h);
    let pk1 = 3633.86 / t - 61.2172 + 9.6777 * ln_t - 0.011555 * s + 0.0001152 * s * s;
    let pk2 = 471.78 / t + 25.929 - 3.16967 * ln_t - 0.01781 * s + 0.0001122 * s * s;
    let ln_kb = (-8966.90 - 2890.53 * root - 77.942 * s + 1.728 * s * root - 0.0996 * s * s) / t
        + 148.0248
        + 137.1942 * root
        + 1.62142 * s
        - (24.4344 + 25.085 * root + 0.2474 * s) * ln_t
        + 0.053105 * root * t;
    let ln_kw = 148.9652 - 13847.26 / t - 23.6521 * ln_t + (118.67 / t - 5.977 + 1.0495 * ln_t) * root - 0.01615 * s;
    let ln_ks = -4276.1 / t + 141.328 - 23.093 * ln_t
        + (-13856.0 / t + 324.57 - 47.986 * ln_t) * ionic.sqrt()
        + (35474.0 / t - 771.54 + 114.723 * ln_t) * ionic
        - 2698.0 * ionic.to_power(1.5) / t
        + 1776.0 * ionic * ionic / t;
    let ln_kf = 874.0 / t - 9.68 + 0.111 * root;
    let log_t = t.to_log10();
    let log_aragonite =
        -171.945 - 0.077993 * t + 2903.293 / t + 71.595 * log_t + (-0.068393 + 0.0017276 * t + 88.135 / t) * root
            - 0.10018 * s
            + 0.0059415 * s * root;
    let log_calcite =
        -171.9065 - 0.077993 * t + 2839.319 / t + 71.595 * log_t + (-0.77712 + 0.0028426 * t + 178.34 / t) * root
            - 0.07711 * s
            + 0.0041249 * s * root;
    let virial = -1636.75 + 12.0408 * t - 0.0327957 * t * t + 3.16528e-5 * t * t * t;
    Ok(Constants {
        k0: ln_k0.to_exp(),
        k1: 10f64.to_power(-pk1),
        k2: 10f64.to_power(-pk2),
        borate: ln_kb.to_exp(),
        water: ln_kw.to_exp(),
        sulfate: (1.0 - 0.001005 * s) * ln_ks.to_exp(),
        fluoride: ln_kf.to_exp(),
        aragonite: 10f64.to_power(log_aragonite),
        calcite: 10f64.to_power(log_calcite),
        fugacity: ((virial + 2.0 * (57.7 - 0.118 * t)) * 1.01325 / (83.14462618 * t)).to_exp(),
    })
}

/// The totals that go with salinity.
#[must_use]
pub fn sea_totals(salinity: PracticalSalinity) -> SeaTotals {
    let chlorinity = salinity.psu() / 1.80655;
    SeaTotals {
        borate: 0.000232 / 10.811 * chlorinity,
        sulfate: 0.14 / 96.062 * chlorinity,
        fluoride: 0.000067 / 18.998 * chlorinity,
        calcium: 0.02128 / 40.087 * chlorinity,
    }
}

/// Sea water of an alkalinity \[meq/L\] in equilibrium with CO2 of a partial pressure \[µatm\].
///
/// `calcium_mg_per_l` is that of sea water of this salinity where it is `None`.
///
/// # Example
/// REFERENCE section 2.7: 2.5 meq/L at 400 µatm, S 35, 25 °C, calcium 410 mg/L: pH 8.0654, Ω 3.628.
/// ```
/// use brinecast::{seawater::carbonate, units::{PracticalSalinity, Temperature}};
/// let c = carbonate(2.5, 400.0, Some(410.0), PracticalSalinity::from_psu(35.0), Temperature::from_celsius(25.0))?;
/// assert!((c.ph - 8.0654).abs() < 2e-4 && (c.aragonite - 3.628).abs() < 2e-3);
/// # Ok::<(), brinecast::seawater::RangeError>(())
/// ```
pub fn carbonate(
    alkalinity_meq_per_l: f64,
    co2_uatm: f64,
    calcium_mg_per_l: Option<f64>,
    salinity: PracticalSalinity,
    temperature: Temperature,
) -> Result<Carbonate, RangeError> {
    let k = carbonate_constants(salinity, temperature)?;
    let totals = sea_totals(salinity);
    let kg_per_l = density(salinity, temperature)?.kg_per_m3() * 1e-3;
    let alkalinity = MEQ_PER_L.check(alkalinity_meq_per_l)? * 1e-3 / kg_per_l;
    let co2 = k.k0 * MICROATM.check(co2_uatm)? * 1e-6 * k.fugacity;
    let parts = |h: f64| {
        let bicarbonate = k.k1 * co2 / h;
        let carbonate = bicarbonate * k.k2 / h;
        let free = h / (1.0 + totals.sulfate / k.sulfate);
        let rest = totals.borate * k.borate / (k.borate + h) + k.water / h
            - free
            - totals.sulfate / (1.0 + k.sulfate / free)
            - totals.fluoride / (1.0 + k.fluoride / h);
        (bicarbonate, carbonate, bicarbonate + 2.0 * carbonate + rest)
    };
    let ph = find_root(|ph| parts(10f64.to_power(-ph)).2 - alkalinity, 5.0, 11.0, 1e-12)
        .map_err(|_| RangeError { value: alkalinity_meq_per_l, range: MEQ_PER_L })?;
    let (bicarbonate, carbonate, _) = parts(10f64.to_power(-ph));
    let calcium = calcium_mg_per_l.map_or(totals.calcium, |ca| ca / 40.078 * 1e-3 / kg_per_l);
    Ok(Carbonate {
        ph,
        dic_umol_per_kg: (co2 + bicarbonate + carbonate) * 1e6,
        aragonite: calcium * carbonate / k.aragonite,
        calcite: calcium * carbonate / k.calcite,
    })
}
