//! The table of a sweep.

use super::Warning;
use crate::solutes::View;

/// Measures over one or two keys.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Sweep {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// Swept keys.
    pub keys: Vec<String>,
    /// Their units.
    pub key_units: Vec<String>,
    /// Measures.
    pub measures: Vec<String>,
    /// Their units.
    pub measure_units: Vec<String>,
    /// Values of the keys, a row a plan, the last key fastest.
    pub points: Vec<Vec<f64>>,
    /// Values of the measures, a row a plan; a cell may have none.
    pub values: Vec<Vec<Option<f64>>>,
    /// Whether each plan keeps every band; nothing where that could not be told, or no band is set.
    pub bands_kept: Vec<Option<bool>>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
}

impl Sweep {
    /// The table as a reader wants it; the keys stay as they were asked for.
    #[must_use]
    pub fn shown(&self, view: &View) -> Self {
        let shown: Vec<_> = self.measures.iter().zip(&self.measure_units).map(|(m, unit)| view.of(m, unit)).collect();
        let row = |row: &Vec<Option<f64>>| row.iter().zip(&shown).map(|(v, s)| v.map(|v| s.value(v))).collect();
        Self {
            values: self.values.iter().map(row).collect(),
            measure_units: shown.iter().map(|s| s.unit.clone()).collect(),
            ..self.clone()
        }
    }
}
