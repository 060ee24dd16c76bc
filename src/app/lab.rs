//! A laboratory's sheet: what it measured becomes the start of a scenario.

use std::path::Path;

use super::log::LogTable;
use super::{AppError, Loaded};
use crate::seawater::parse_salinity;
use crate::solutes::{Solute, parse_concentration};

/// A scenario that starts with what a laboratory's sheet says, and what of the sheet was taken and what was not.
#[derive(Clone, Debug)]
pub struct FromLab {
    /// The scenario.
    pub loaded: Loaded,
    /// A line for each row of the sheet.
    pub notes: Vec<String>,
}

/// Other names of solutes on such sheets, by their keys.
const NAMES: [(&str, &[&str]); 8] = [
    ("alkalinity", &["alk", "kh", "carbonate hardness"]),
    ("calcium", &["ca"]),
    ("magnesium", &["mg"]),
    ("potassium", &["k"]),
    ("nitrate", &["no3"]),
    ("nitrite", &["no2"]),
    ("ammonia", &["nh3", "nh4", "ammonium"]),
    ("phosphate", &["po4"]),
];

/// Whether a name on a sheet means a solute.
fn means(name: &str, solute: &Solute) -> bool {
    let name = name.to_lowercase();
    let key = solute.key.to_lowercase();
    name == key
        || name.replace([' ', '-'], "_") == key
        || NAMES.iter().any(|(of, names)| *of == key && names.contains(&name.as_str()))
}

/// Most rows of a sheet.
const MOST_ROWS: usize = 1000;

/// Lets a scenario start with the values of a sheet: CSV with `element`, `value` and `unit`, in any order. A row of what the
/// scenario does not track is told and left out; a value that cannot be read is refused.
pub fn from_lab(loaded: &Loaded, path: &Path) -> Result<FromLab, AppError> {
    let table = LogTable::read(path, "element, value, unit".into(), MOST_ROWS)?;
    for column in ["element", "value", "unit"] {
        if !table.has(column) {
            return Err(table
                .refuse(format!("line 1: the column `{column}` is missing\n  = help: example: element,value,unit")));
        }
    }
    let plan = &loaded.scenario.plan;
    let (mut sets, mut notes, mut taken): (Vec<String>, Vec<String>, Vec<String>) =
        (Vec::new(), Vec::new(), Vec::new());
    for (line, record) in &table.rows {
        let cell = |column: &str| table.cell(record, column).unwrap_or_default().trim().to_owned();
        let (element, value, unit) = (cell("element"), cell("value"), cell("unit"));
        if element.is_empty() {
            continue;
        }
        let text = format!("{value} {unit}");
        let wrong = |why: String| table.refuse(format!("line {line}: {element}: {why}"));
        let key = if element.eq_ignore_ascii_case("salinity") {
            parse_salinity(&text, plan.tank.temperature).map_err(|e| wrong(e.to_string()))?;
            "tank.salinity".to_owned()
        } else {
            let found = plan.species.iter().map(|s| &s.solute).find(|s| means(&element, s));
            let Some(solute) = found else {
                notes.push(format!("{element} {text} is left out: the scenario does not track it"));
                continue;
            };
            // A trace that was not found is nothing.
            parse_concentration(solute, &text).map_err(|e| wrong(e.to_string()))?;
            format!("solutes.{}.start", solute.key)
        };
        if taken.contains(&key) {
            return Err(wrong("it stands twice in the sheet: which of the two holds?".into()));
        }
        notes.push(format!("{key} = {text}"));
        sets.push(format!("{key}={text}"));
        taken.push(key);
    }
    if sets.is_empty() {
        return Err(table.refuse("nothing in it is tracked by the scenario"));
    }
    Ok(FromLab { loaded: loaded.with(&sets)?, notes })
}
