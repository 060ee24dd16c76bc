//! The answer of `plan` in words.

use std::collections::{HashMap, HashSet};

use super::answer::PlanResult;
use crate::app::moment::said;
use crate::app::report::on_scenario;
use crate::app::{Answer, AppError, Loaded};
use crate::export;
use crate::results::{Action, Report, ReportPart, WorkItem, WorkPlan};
use crate::units::trimmed;

impl Answer for PlanResult {
    type Of = Loaded;
    type Data = WorkPlan;

    const COMMAND: &'static str = "plan";

    fn data(&self) -> &WorkPlan {
        &self.plan
    }

    fn told(&self, of: &Loaded) -> Report {
        let cards: Vec<&str> = self.cards.iter().map(|(name, _)| name.as_str()).collect();
        told(&self.plan, &cards, of)
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        let mut files = vec![
            ("plan.ics".into(), export::calendar_ics(&self.plan).into_bytes()),
            ("plan.csv".into(), export::plan_csv(&self.plan)?),
            ("shopping.csv".into(), export::shopping_csv(&self.plan)?),
        ];
        files.extend(self.cards.iter().map(|(name, page)| (name.clone(), page.clone().into_bytes())));
        Ok(files)
    }
}

/// Rows of the short table.
const FEW: usize = 4;

fn told(plan: &WorkPlan, cards: &[&str], loaded: &Loaded) -> Report {
    let units = loaded.scenario.units;
    let (litres, kg) = (units.shown("L"), units.shown("kg"));
    let row = |(item, times): (&WorkItem, Option<usize>)| {
        let clock = item.begins.replace('T', " ");
        let again = times.map_or(String::new(), |times| format!("; {times} times, at this hour"));
        vec![clock.get(..16).unwrap_or(&clock).to_owned(), item.what.clone(), item.detail.clone() + &again]
    };
    let items = told_once(plan).into_iter().map(row).collect();
    let calendar =
        ReportPart::table("What to do, and when; all of it is in plan.csv", &["when", "what", ""], items).first(FEW);
    let shopping = plan.shopping.iter().map(|line| {
        let amounts = [(&litres, line.salt_water_l), (&kg, line.salt_mix_kg), (&litres, line.purified_l)];
        let mut row = vec![line.month.clone(), line.changes.to_string()];
        row.extend(amounts.map(|(unit, v)| unit.number(v, 3)));
        row
    });
    let head = [
        "month".to_owned(),
        "changes".to_owned(),
        format!("salt water [{}]", litres.unit),
        format!("salt mix [{}]", kg.unit),
        format!("purified water [{}]", litres.unit),
    ];
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let changes: usize = plan.shopping.iter().map(|line| line.changes).sum();
    let first = plan.items.iter().find(|i| i.kind == "change");
    let numbers = vec![calendar, ReportPart::captioned("Shopping list", &head, shopping.collect()).first(FEW)];
    // A calendar takes a time without a zone for that of the wall clock, as the reader does.
    let zone = if plan.zone == "local" { String::new() } else { format!(", {} time", plan.zone) };
    let report = on_scenario(loaded, "calendar", None);
    Report {
        about: format!("{} days from {}", trimmed(plan.days, 0), said(&plan.from)) + &zone,
        answer: first.map_or_else(
            || format!("{} things to do, and no change of water.", plan.items.len()),
            |first| {
                let many = if changes == 1 { "1 change".to_owned() } else { format!("{changes} changes") };
                format!("{many} of water; the first on {}.", said(&first.begins))
            },
        ),
        todo: todo(plan, cards),
        numbers,
        warnings: plan.warnings.clone(),
        cautions: plan.cautions.clone(),
        ..report
    }
}

/// Doses from this many on are told once in the table; each is in the files.
const MANY: usize = 15;

/// What makes two items the same dose at the same hour.
fn dose_of(item: &WorkItem) -> Option<(&str, &str, &str)> {
    (item.kind == "dose").then(|| (&*item.what, &*item.detail, item.begins.get(11..).unwrap_or_default()))
}

/// The items of the table, each with how many times it comes where that is often; what comes again then is left out.
fn told_once(plan: &WorkPlan) -> Vec<(&WorkItem, Option<usize>)> {
    let mut times: HashMap<_, usize> = HashMap::new();
    plan.items.iter().filter_map(dose_of).for_each(|dose| *times.entry(dose).or_default() += 1);
    let mut seen = HashSet::new();
    let mut list = Vec::new();
    for item in &plan.items {
        let dose = dose_of(item);
        let often = dose.and_then(|dose| times.get(&dose).copied()).filter(|times| *times >= MANY);
        if often.is_none() || dose.is_some_and(|dose| seen.insert(dose)) {
            list.push((item, often));
        }
    }
    list
}

/// What to do with the calendar, and what is done without it.
fn todo(plan: &WorkPlan, cards: &[&str]) -> Vec<Action> {
    let mut todo = vec![Action::new(match cards {
        [] => "Import plan.ics into your calendar.".to_owned(),
        cards => format!("Import plan.ics into your calendar; print {} for the vessel.", cards.join(" and ")),
    })];
    if !plan.by_pump.is_empty() {
        todo.push(Action::new(format!("Dose by pump (not in the calendar): {}.", plan.by_pump.join("; "))));
    }
    todo
}
