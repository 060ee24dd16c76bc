//! The answer of `properties` in words.

use super::answer::PropertiesAnswer;
use crate::app::answer::answers_itself;
use crate::results::{Report, ReportPart};

answers_itself!(PropertiesAnswer, (), "properties", |a, _of| told(a));

fn told(a: &PropertiesAnswer) -> Report {
    let toxic = a.rows.iter().any(|row| row.toxic_ammonia_share.is_some());
    let rows = a.rows.iter().map(|row| {
        let cell =
            |value: Option<f64>, decimals: usize| value.map_or_else(|| "-".into(), |v| format!("{v:.decimals$}"));
        let mut cells = vec![
            format!("{:.1}", row.salinity_psu),
            cell(row.density_kg_per_m3, 2),
            cell(row.sg_25_25, 5),
            cell(row.conductivity_ms_per_cm, 2),
            cell(row.refractive_index, 5),
            cell(row.heat_capacity, 0),
            cell(row.vapour_pressure_pa, 0),
            cell(row.oxygen_umol_per_kg, 1),
        ];
        cells.extend(toxic.then(|| cell(row.toxic_ammonia_share.map(|share| 100.0 * share), 2)));
        cells
    });
    let mut head = vec!["psu", "kg/m3", "sg 25C/25C", "mS/cm", "n", "J/(kg K)", "Pa", "O2 umol/kg"];
    head.extend(toxic.then_some("NH3 %"));
    Report {
        title: format!("Sea water at {}", a.temperature),
        answer: "A dash: outside the range of the formula.".into(),
        numbers_are_the_answer: true,
        numbers: vec![
            ReportPart::table("Properties by salinity", &head, rows.collect()),
            ReportPart::text(
                "Salinity, density, specific gravity, conductivity, refractive index, heat capacity, vapour pressure, oxygen at saturation.",
            ),
        ],
        ..Report::default()
    }
}
