//! Values printed in publications or computed by other libraries (`tests/published.csv`), row by row.

use brinecast::seawater::density;
use brinecast::solutes::{find, parse_concentration};
use brinecast::units::{Gallon, PracticalSalinity, Temperature, Volume, parse};

/// A row of the table.
pub(crate) struct Row {
    pub(crate) id: String,
    pub(crate) inputs: String,
    pub(crate) value: f64,
    pub(crate) tolerance: f64,
    pub(crate) source: String,
    pub(crate) note: String,
}

pub(crate) fn rows(prefix: &str) -> Vec<Row> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/published.csv");
    let mut reader = csv::Reader::from_path(path).unwrap();
    let rows: Vec<Row> = reader
        .records()
        .map(|r| r.unwrap())
        .filter(|r| r[0].starts_with(prefix))
        .map(|r| Row {
            id: r[0].to_owned(),
            inputs: r[2].to_owned(),
            value: r[3].parse().unwrap(),
            tolerance: r[5].parse().unwrap(),
            source: r[6].to_owned(),
            note: r[8].to_owned(),
        })
        .collect();
    assert!(!rows.is_empty(), "no rows {prefix}");
    rows
}

impl Row {
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

#[test]
fn one_atmosphere_density_is_that_of_eos_80() {
    let mut seen = 0;
    for row in rows("P-RHO") {
        // the TEOS-10 pages, IAPWS saturation and pure-water standards are other formulas
        let (Some(s), Some(t)) = (row.input("S").or(row.input("S_P")), row.input("t68").or(row.input("t90"))) else {
            continue;
        };
        let t90 = if row.inputs.contains("t68") { t / 1.00024 } else { t };
        row.holds(density(PracticalSalinity::from_psu(s), Temperature::from_celsius(t90)).unwrap().kg_per_m3());
        seen += 1;
    }
    assert!(seen >= 40, "only {seen} rows were read");
}
