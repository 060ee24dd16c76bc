//! A table over several scenarios.

use super::{Loaded, PlanResult, RunResult};
use crate::results::Span;
use crate::units::significant;

/// A row of a table over several scenarios: heads and cells, the first of which names it.
#[derive(Clone, Debug)]
pub struct TableRow {
    /// Head of each column.
    pub head: Vec<String>,
    /// Its cells.
    pub cells: Vec<String>,
    /// Whether it is well; nothing where that is no question.
    pub well: Option<bool>,
}

/// The row of a run.
#[must_use]
pub fn row_of_run(result: &RunResult, loaded: &Loaded) -> TableRow {
    let summary = &result.summary;
    let left = summary.bands.iter().filter(|b| b.left_at_d.is_some());
    let first = left.min_by(|a, b| a.left_at_d.unwrap_or(0.0).total_cmp(&b.left_at_d.unwrap_or(0.0)));
    let date = |day: f64| super::moment::written(loaded.scenario.start, day).get(4..14).unwrap_or_default().to_owned();
    let kept = first.map_or("yes".to_owned(), |b| format!("no: {} from {}", b.key, date(b.left_at_d.unwrap_or(0.0))));
    let salinity = summary.spans.iter().find(|s| s.key == "salinity");
    let view = loaded.scenario.view();
    let range = |s: &Span| {
        let shown = view.of(&s.key, &s.unit);
        let [low, high] = [s.lowest, s.highest].map(|v| significant(shown.value(v), 4));
        format!("{low} to {high} {}", shown.unit)
    };
    let litres = loaded.scenario.units.shown("L");
    let a_year = summary.totals.salt_water_l / summary.days * crate::units::YEAR_D;
    TableRow {
        head: ["scenario", "bands kept", "salinity", "new water a year"].map(String::from).to_vec(),
        cells: vec![
            summary.scenario.clone(),
            kept,
            salinity.map_or(String::new(), range),
            format!("{} {}", significant(litres.value(a_year), 3), litres.unit),
        ],
        well: Some(summary.bands_kept),
    }
}

/// The row of a plan.
#[must_use]
pub fn row_of_plan(result: &PlanResult, loaded: &Loaded) -> TableRow {
    let plan = &result.plan;
    let (litres, kg) = (loaded.scenario.units.shown("L"), loaded.scenario.units.shown("kg"));
    let sum = |of: &dyn Fn(&crate::results::ShoppingLine) -> f64| plan.shopping.iter().map(of).sum::<f64>();
    let first = plan.items.iter().find(|i| i.kind == "change").map_or("-", |i| &i.begins[..10]);
    TableRow {
        head: ["scenario", "first change", "changes", "salt water", "salt mix", "purified water"]
            .map(String::from)
            .to_vec(),
        cells: vec![
            plan.scenario.clone(),
            first.to_owned(),
            plan.shopping.iter().map(|m| m.changes).sum::<usize>().to_string(),
            format!("{} {}", significant(litres.value(sum(&|m| m.salt_water_l)), 3), litres.unit),
            format!("{} {}", significant(kg.value(sum(&|m| m.salt_mix_kg)), 3), kg.unit),
            format!("{} {}", significant(litres.value(sum(&|m| m.purified_l)), 3), litres.unit),
        ],
        well: None,
    }
}

/// The table in words: columns as wide as what stands in them, and below it how many are well.
#[must_use]
pub fn over_them(rows: &[TableRow], asked: usize) -> String {
    let Some(first) = rows.first() else { return String::new() };
    let widths: Vec<usize> = (0..first.head.len())
        .map(|k| {
            let cells = rows.iter().filter_map(|r| r.cells.get(k));
            cells.chain([&first.head[k]]).map(|c| c.chars().count()).max().unwrap_or(0)
        })
        .collect();
    let line = |cells: &[String]| {
        let padded: Vec<String> = cells.iter().zip(&widths).map(|(c, w)| format!("{c:<w$}")).collect();
        padded.join("  ").trim_end().to_owned() + "\n"
    };
    let mut text = line(&first.head);
    for row in rows {
        text += &line(&row.cells);
    }
    if rows.iter().all(|r| r.well.is_some()) {
        let well = rows.iter().filter(|r| r.well == Some(true)).count();
        text += &format!("\n{well} of {asked} keep their bands.\n");
    }
    if rows.len() < asked {
        text += &format!("{} of {asked} could not be done.\n", asked - rows.len());
    }
    text
}
