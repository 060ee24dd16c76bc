//! The answer of `plan` in words.

use super::answer::PlanResult;
use crate::app::{Answer, AppError, Loaded};
use crate::export;
use crate::export::warnings_text;
use crate::results::WorkPlan;
use crate::units::{UnitSystem, significant, trimmed};

impl Answer for PlanResult {
    type Of = Loaded;
    type Data = WorkPlan;

    const COMMAND: &'static str = "plan";

    fn data(&self) -> &WorkPlan {
        &self.plan
    }

    fn text(&self, of: &Loaded, width: usize) -> String {
        text(&self.plan, of.scenario.units, width)
    }

    fn cautions(&self) -> &[String] {
        &self.plan.cautions
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

/// The plan for a terminal: a line an item, then the shopping list.
pub(super) fn text(plan: &WorkPlan, units: UnitSystem, width: usize) -> String {
    let fill = |text: &str, indent: &str| {
        textwrap::fill(text, textwrap::Options::new(width).subsequent_indent(indent).break_words(false)) + "\n"
    };
    let mut text = format!("{}: {} d from {}, {} time\n\n", plan.scenario, trimmed(plan.days, 0), plan.from, plan.zone);
    for item in &plan.items {
        let clock = item.begins.replace('T', " ");
        let clock = clock.get(..16).unwrap_or(&clock);
        let detail = if item.detail.is_empty() { String::new() } else { format!(": {}", item.detail) };
        text += &fill(&format!("{clock}  {}{detail}", item.what), "                  ");
    }
    let (litres, kg) = (units.shown("L"), units.shown("kg"));
    text += &format!(
        "\n{:<10}{:>9}{:>19}{:>14}{:>23}\n",
        "month",
        "changes",
        format!("salt water {}", litres.unit),
        format!("salt mix {}", kg.unit),
        format!("purified water {}", litres.unit)
    );
    for line in &plan.shopping {
        text += &format!(
            "{:<10}{:>9}{:>19}{:>14}{:>23}\n",
            line.month,
            line.changes,
            significant(litres.value(line.salt_water_l), 3),
            significant(kg.value(line.salt_mix_kg), 3),
            significant(litres.value(line.purified_l), 3)
        );
    }
    text += "\n";
    text += &warnings_text(&plan.warnings);
    text
}
