//! What `station` answers, and the files that it makes.

use super::load::LoadedStation;
use crate::app::AppError;
use crate::app::report::{figures, section, table};
use crate::chart::Picture;
use crate::export;
use crate::results::{Caution, Report, Round, StationAnswer};
use crate::units::{InUnits, Mass, significant, trimmed};

/// A station's answer with pictures.
#[derive(Debug)]
pub struct StationResult {
    /// The answer.
    pub answer: StationAnswer,
    /// Levels and the chance of shortage.
    pub pictures: Vec<(String, Picture)>,
    /// The page.
    pub report: String,
    /// The sheet of the round.
    pub round: String,
}

/// Sizes and the chance of shortage at each, from nothing to where no member runs dry.
pub(super) fn curve(needed: &[f64]) -> Vec<(f64, f64)> {
    const POINTS: usize = 60;
    let most = needed.last().copied().unwrap_or(0.0);
    (0..=POINTS)
        .map(|i| {
            let size = 1.05 * most * i as f64 / POINTS as f64;
            (size, crate::study::shortage_chance(needed, size))
        })
        .collect()
}

pub(super) fn page(
    loaded: &LoadedStation,
    a: &StationAnswer,
    pictures: &[(String, Picture)],
) -> Result<String, AppError> {
    let number = |v: f64| significant(v, 4);
    let units = loaded.file.units;
    let [litres, kg, pressure] = ["L", "kg", "kPa"].map(|unit| units.shown(unit));
    let tanks = a
        .tanks
        .iter()
        .map(|t| {
            let left = t.left_at_d.map_or("kept".into(), |d| format!("left on day {}", trimmed(d, 1)));
            let (changed, top_off) = (litres.value(t.changed_l), litres.value(t.top_off_l));
            let cells = [t.salinity_low, t.salinity_high, t.changes as f64, changed, top_off].map(number);
            std::iter::once(t.name.clone()).chain(cells).chain([left]).collect()
        })
        .collect();
    let sizes = a
        .sizing
        .iter()
        .map(|s| {
            let plain = s.plain_l.map_or("several".into(), |l| number(litres.value(l)));
            let floor = s.floor_kpa.map_or("-".into(), |k| trimmed(pressure.value(k), 1));
            let (needed, full) = (number(litres.value(s.needed_l)), number(kg.value(s.full_kg)));
            vec![s.what.clone(), needed, plain, full, floor, s.because.clone()]
        })
        .collect();
    let lines = |l: &[crate::results::YearLine]| -> Vec<Vec<String>> {
        let amount = |y: &crate::results::YearLine| y.shown(units).join(" ");
        l.iter().map(|y| vec![y.what.clone(), amount(y), y.inputs.clone()]).collect()
    };
    let needed = format!("What is needed, sizes in {}", litres.unit);
    let (full, floor) = (format!("full {}", kg.unit), format!("floor {}", pressure.unit));
    let (changed, topped) = (format!("new water {}", litres.unit), format!("top-off {}", litres.unit));
    let report = Report {
        title: loaded.file.title.clone(),
        question: "Is there always enough water, and how large must the stores be?".into(),
        answer: a.answer.clone(),
        sections: vec![
            section("Pictures", figures(pictures)?),
            section(
                "Sizes",
                vec![
                    table(&needed, &["", &litres.unit, "plain size", &full, &floor, "because"], sizes),
                    crate::results::ReportPart::Text(format!(
                        "Salt mix to hold after a delivery: {} ({}).",
                        Mass::from_kg(a.salt_store.0).show(units),
                        a.salt_store.1
                    )),
                ],
            ),
            section(
                "Tanks",
                vec![table(
                    "Over the run",
                    &["", "lowest psu", "highest psu", "changes", &changed, &topped, "bands"],
                    tanks,
                )],
            ),
            section("A year", vec![table("What a year uses", &["", "amount", "inputs"], lines(&a.year))]),
            section(
                "First fill",
                vec![table("To fill every tank anew", &["", "amount", "inputs"], lines(&a.first_fill))],
            ),
        ],
        warnings: a.warnings.clone(),
        cautions: a.cautions.clone(),
        provenance: vec![
            ("program".into(), format!("brinecast {}", a.brinecast)),
            ("station".into(), loaded.name.clone()),
            ("basis".into(), a.basis.clone()),
            ("seed".into(), a.seed.to_string()),
            ("books close to".into(), format!("{:.0e}", a.residual)),
        ],
    };
    Ok(export::report_html(&report))
}

pub(super) fn round_sheet(loaded: &LoadedStation, round: &Round) -> Report {
    let (shown, units) = (loaded.file.units.shown("L"), loaded.file.units);
    let litres = |l: f64| trimmed(shown.value(l), 1);
    let rows = round
        .stops
        .iter()
        .map(|s| {
            let name = if s.sick { format!("{} (sick: last, own tools)", s.name) } else { s.name.clone() };
            vec![
                name,
                litres(s.out_l),
                litres(s.mother_l),
                litres(s.trim_l),
                litres(s.top_off_l),
                trimmed(s.minutes, 0),
                String::new(),
            ]
        })
        .collect();
    Report {
        title: format!("Round of {}: {}", round.day, loaded.file.title),
        question: String::new(),
        answer: format!(
            "Load {} {unit} of salt water at {} psu and {} {unit} of fresh water, {} together ({} containers of {} at most); about {} h of work.",
            litres(round.salt_water_l),
            trimmed(loaded.file.station.mother.psu(), 1),
            litres(round.fresh_l),
            Mass::from_kg(round.mass_kg).show(units),
            round.containers,
            Mass::from_kg(round.container_kg).show(units),
            trimmed(round.minutes / 60.0, 1),
            unit = shown.unit
        ),
        sections: vec![section(
            "Stops, clean before sick",
            vec![table(
                &format!("Water in {}", shown.unit),
                &["tank", "out", "salt in", "fresh in", "top-off up to", "min", "done"],
                rows,
            )],
        )],
        warnings: Vec::new(),
        cautions: [Caution::Weight, Caution::Electricity, Caution::Planning].map(|c| c.text().to_owned()).to_vec(),
        provenance: vec![("station".into(), loaded.name.clone())],
    }
}
