//! The answer of `plan` in words.

use crate::export::warnings_text;
use crate::results::WorkPlan;
use crate::units::{UnitSystem, significant, trimmed};

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
