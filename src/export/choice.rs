//! A choice among regimes, as a table and for a terminal.

use super::ExportError;
use super::csv_files::{bytes, writer};
use crate::results::Choice;

/// A row a candidate.
pub fn choice_csv(choice: &Choice) -> Result<Vec<u8>, ExportError> {
    let mut out = writer();
    let keys = choice.keys.iter().map(|k| k.replace('.', "_"));
    let rest = [
        "litres_per_year",
        "salt_kg_per_year",
        "minutes_per_year",
        "cost_per_year",
        "salinity_swing_psu",
        "band_use",
        "tightest_band",
        "keeps_bands",
        "on_front",
        "chance_kept",
        "chance_error",
        "chance_at_least",
        "chance_is_enough",
        "not_judged_because",
    ];
    out.write_record(keys.chain(rest.map(str::to_owned)))?;
    let number = |v: f64| if v.is_nan() { String::new() } else { v.to_string() };
    for c in &choice.candidates {
        let cells = [
            number(c.litres),
            number(c.salt_kg),
            number(c.minutes),
            c.cost.map_or(String::new(), number),
            number(c.swing_psu),
            number(c.band_use),
            c.tightest.clone(),
            c.keeps.to_string(),
            c.on_front.to_string(),
            c.chance.map_or(String::new(), |k| k.value.to_string()),
            c.chance.map_or(String::new(), |k| k.error.to_string()),
            c.chance.map_or(String::new(), |k| k.at_least.to_string()),
            c.chance.map_or(String::new(), |k| k.enough.to_string()),
            c.failed.clone().unwrap_or_default(),
        ];
        out.write_record(c.values.iter().cloned().chain(cells))?;
    }
    bytes(out)
}
