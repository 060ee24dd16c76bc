//! The answer of `compare` in words.

use super::answer::CompareResult;
use crate::app::choose::span_words;
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::export;
use crate::results::Comparison;
use crate::solutes::View;
use crate::units::{significant, trimmed};

impl Answer for CompareResult {
    type Of = Loaded;
    type Data = Comparison;

    const COMMAND: &'static str = "compare";

    fn data(&self) -> &Comparison {
        &self.comparison
    }

    fn text(&self, of: &Loaded, _width: usize) -> String {
        text(&self.comparison, &of.scenario.view())
    }

    fn cautions(&self) -> &[String] {
        &[]
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(vec![("compare.csv".into(), export::comparison_csv(&self.comparison)?)])
    }

    fn page(&self, of: &Loaded) -> Result<Option<(String, String)>, AppError> {
        Ok(Some(("compare.html".into(), self.report(of)?)))
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }
}

/// The comparison as a table for a terminal.
pub(super) fn text(comparison: &Comparison, view: &View) -> String {
    let mut text = format!("{}, {} basis\n\n", comparison.scenario, comparison.basis);
    text += &format!("{:<30}", "");
    for name in &comparison.names {
        text += &format!("{:>13}", name.chars().take(12).collect::<String>());
    }
    text += "  unit\n";
    for row in comparison.rows().into_iter().map(|row| row.shown(view)) {
        text += &format!("{:<30}", row.what.replace('_', " "));
        for value in &row.values {
            text += &format!("{:>13}", value.map_or("-".into(), |v| significant(v, 4)));
        }
        text += &format!("  {}\n", row.unit);
    }
    let moved = comparison.differences(MOST_DIFFERENCES);
    for ((name, moved), driver) in comparison.names[1..].iter().zip(moved).zip(comparison.drivers()) {
        text += &format!("\nWhat `{name}` changes most:\n");
        if moved.is_empty() {
            text += "  nothing\n";
        }
        for (row, by) in moved {
            let shown = view.of(&row.what, &row.unit);
            text += &format!(
                "  {:<30}{}{} {}\n",
                row.what.replace('_', " "),
                if by > 0.0 { "+" } else { "" },
                significant(shown.step(by), 3),
                shown.unit
            );
        }
        if let Some((cause, by, unit)) = driver {
            let sign = if by > 0.0 { "+" } else { "" };
            text += &format!("  what drives its salinity: {cause}, {sign}{} {}\n", significant(by, 2), unit);
        }
    }
    text + &under(comparison, view)
}

/// The variants under uncertainty, a row each.
fn under(comparison: &Comparison, view: &View) -> String {
    let Some(first) = comparison.under.first() else { return String::new() };
    let litres = view.units.shown("L/year");
    let with_cost = first.cost.is_some();
    let mut text = format!(
        "\nUnder uncertainty, long in force, for {} ({} members; {}):\n",
        span_words(comparison.span_d),
        comparison.members,
        comparison.uncertain.join("; ")
    );
    text += &format!("{:<22}{:>12}{:>10}{:>10}{:>9}{:>10}", "", litres.unit, "min/year", "chance", "at least", "worst");
    text += &if with_cost { format!("{:>10}\n", comparison.money) } else { "\n".to_owned() };
    for u in &comparison.under {
        let percent = |p: f64| format!("{} %", trimmed(100.0 * p, 0));
        text += &format!(
            "{:<22}{:>12}{:>10}{:>10}{:>9}{:>10}",
            u.name.chars().take(21).collect::<String>(),
            significant(litres.value(u.litres), 4),
            significant(u.minutes, 4),
            percent(u.chance),
            percent(u.at_least),
            percent(u.worst_use)
        );
        text += &u.cost.map_or(String::new(), |c| format!("{:>10}", significant(c, 3)));
        text += "\n";
    }
    text + "(chance: that every band is kept; worst: use of the tightest band that 95 of 100 do not pass)\n"
}

/// Differences that are named for each variant.
const MOST_DIFFERENCES: usize = 5;
