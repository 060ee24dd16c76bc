//! A table over several scenarios.

use super::run::TOLD;
use super::{Loaded, PlanResult, RunResult};
use crate::results::{Report, ReportPart, Span, spoken};

/// A row of a table over several scenarios, the first cell of which names it.
#[derive(Clone, Debug)]
pub struct TableRow {
    /// Its cells.
    pub cells: Vec<String>,
    /// Whether it is well; nothing where that is no question.
    pub well: Option<bool>,
}

/// Heads of the table over runs.
pub const RUNS: &[&str] = &["scenario", "bands kept", "salinity", "new water a year", "warnings"];
/// Heads of the table over plans.
pub const PLANS: &[&str] = &["scenario", "first change", "changes", "salt water", "salt mix", "purified water"];

/// The row of a run.
#[must_use]
pub fn row_of_run(result: &RunResult, loaded: &Loaded) -> TableRow {
    let summary = &result.summary;
    let left = summary.bands.iter().filter_map(|b| Some((b.left_at_d?, &b.key)));
    let first = left.min_by(|a, b| a.0.total_cmp(&b.0));
    let date = |day: f64| super::moment::written_date(loaded.scenario.start, day);
    let later = || summary.settling_outside().map(|b| spoken(&b.key)).collect::<Vec<_>>().join(", ");
    let kept = match (first, later()) {
        (Some((day, key)), _) => format!("no: {} from {}", spoken(key), date(day)),
        (None, later) if later.is_empty() => "yes".to_owned(),
        (None, later) => format!("yes, but {later} settles outside"),
    };
    let salinity = summary.spans.iter().find(|s| s.key == "salinity");
    let view = loaded.scenario.view();
    let range = |s: &Span| {
        let shown = view.of(&s.key, &s.unit);
        let [low, high] = [s.lowest, s.highest].map(|v| shown.number(v, 4));
        format!("{low} to {high} {}", shown.unit)
    };
    let litres = loaded.scenario.units.shown("L");
    let mut warned: Vec<String> =
        summary.warnings.iter().filter(|w| !TOLD.contains(&&*w.code)).map(|w| w.code.replace('-', " ")).collect();
    warned.dedup();
    let a_year = summary.totals.salt_water_l / summary.days * crate::units::YEAR_D;
    TableRow {
        cells: vec![
            summary.scenario.clone(),
            kept,
            salinity.map_or(String::new(), range),
            format!("{} {}", litres.number(a_year, 3), litres.unit),
            warned.join(", "),
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
        cells: vec![
            plan.scenario.clone(),
            first.to_owned(),
            plan.shopping.iter().map(|m| m.changes).sum::<usize>().to_string(),
            format!("{} {}", litres.number(sum(&|m| m.salt_water_l), 3), litres.unit),
            format!("{} {}", kg.number(sum(&|m| m.salt_mix_kg), 3), kg.unit),
            format!("{} {}", litres.number(sum(&|m| m.purified_l), 3), litres.unit),
        ],
        well: None,
    }
}

/// The answer over several scenarios: how many are well, and the table of them.
#[must_use]
pub fn over_them(head: &[&str], rows: &[TableRow], asked: usize) -> Report {
    let mut answer = Vec::new();
    if !rows.is_empty() && rows.iter().all(|r| r.well.is_some()) {
        let well = rows.iter().filter(|r| r.well == Some(true)).count();
        answer.push(format!("{well} of {asked} keep their bands."));
    }
    if rows.len() < asked {
        answer.push(format!("{} of {asked} could not be done.", asked - rows.len()));
    }
    let cells = rows.iter().map(|r| r.cells.clone()).collect();
    Report {
        answer: answer.join(" "),
        numbers: if rows.is_empty() { Vec::new() } else { vec![ReportPart::table("One by one", head, cells)] },
        numbers_are_the_answer: true,
        ..Report::default()
    }
}
