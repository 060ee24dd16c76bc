//! Variants side by side.

use super::{DriftPer, Summary, Warning};
use crate::solutes::View;

/// The scenario as it stands and its variants, each with its whole summary.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Comparison {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// Names, the scenario as it stands first.
    pub names: Vec<String>,
    /// Summaries in the same order.
    pub summaries: Vec<Summary>,
    /// Each variant under uncertainty, in the same order; none where nothing is uncertain.
    pub under: Vec<UnderUncertainty>,
    /// Unit of the cost there.
    pub money: String,
    /// What was uncertain.
    pub uncertain: Vec<String>,
    /// For how long the bands are to be kept there \[d\], and with how many members that was looked at.
    pub span_d: f64,
    /// See above.
    pub members: u64,
    /// Warnings of the scenario as it stands.
    pub warnings: Vec<Warning>,
}

/// A variant under uncertainty, long in force.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct UnderUncertainty {
    /// Its name.
    pub name: String,
    /// Share of the members that keep every band for the span.
    pub chance: f64,
    /// Lower bound of that: above the truth in no more than one of twenty such checks.
    pub at_least: f64,
    /// Use of the tightest band that nineteen of twenty members do not pass: 1 at its edge.
    pub worst_use: f64,
    /// Salt water \[L/year\], the mean of the members.
    #[serde(rename = "litres_per_year")]
    pub litres: f64,
    /// Dry sea salt \[kg/year\].
    #[serde(rename = "salt_kg_per_year")]
    pub salt_kg: f64,
    /// Work \[min/year\].
    #[serde(rename = "minutes_per_year")]
    pub minutes: f64,
    /// Money a year, where a price is known.
    #[serde(rename = "cost_per_year")]
    pub cost: Option<f64>,
}

/// A row of the table: a quantity in its unit, for every variant.
#[derive(Clone, Debug, PartialEq)]
pub struct ComparisonRow {
    /// What.
    pub what: String,
    /// Unit.
    pub unit: String,
    /// Values, in the order of the names; absent where a variant has none.
    pub values: Vec<Option<f64>>,
}

impl ComparisonRow {
    /// The row as a reader wants it.
    #[must_use]
    pub fn shown(self, view: &View) -> Self {
        let shown = view.of(&self.what, &self.unit);
        let values = self.values.into_iter().map(|v| v.map(|v| shown.value(v))).collect();
        Self { unit: shown.unit, values, ..self }
    }
}

impl Comparison {
    /// The table: spans, settled means, drift by cause, water and salt.
    #[must_use]
    pub fn rows(&self) -> Vec<ComparisonRow> {
        let mut rows: Vec<ComparisonRow> = Vec::new();
        let mut add = |what: String, unit: &str, value: &dyn Fn(&Summary) -> Option<f64>| {
            rows.push(ComparisonRow { what, unit: unit.into(), values: self.summaries.iter().map(value).collect() });
        };
        let first = &self.summaries[0];
        for span in first.spans.iter().filter(|s| s.key != "volume") {
            let find = |s: &Summary| s.spans.iter().find(|x| x.key == span.key).cloned();
            add(format!("{} lowest", span.key), &span.unit, &|s| find(s).map(|x| x.lowest));
            add(format!("{} mean", span.key), &span.unit, &|s| find(s).map(|x| x.mean));
            add(format!("{} highest", span.key), &span.unit, &|s| find(s).map(|x| x.highest));
            add(format!("{} settled mean", span.key), &span.unit, &|s| Some(s.settled.as_ref()?.of(&span.key)?.mean));
        }
        for band in &first.bands {
            add(format!("{} outside band", band.key), "d", &|s| {
                s.bands.iter().find(|b| b.key == band.key).map(|b| b.outside_d)
            });
        }
        let mut causes: Vec<&str> = self.summaries.iter().flat_map(|s| &s.drift).map(|d| d.cause).collect();
        causes.sort_unstable();
        causes.dedup();
        let shortest = self.summaries.iter().map(|s| s.days).fold(f64::INFINITY, f64::min);
        let per = DriftPer::of(shortest);
        for cause in causes {
            add(format!("salinity by {cause}"), per.unit(), &|s| {
                Some(s.drift.iter().find(|d| d.cause == cause).map_or(0.0, |d| per.psu(d)))
            });
        }
        add("half-life".into(), "d", &|s| s.settled.as_ref()?.half_life_d);
        add("salt water used".into(), "L", &|s| Some(s.totals.salt_water_l));
        add("dry salt used".into(), "kg", &|s| Some(s.totals.salt_kg));
        add("top-off used".into(), "L", &|s| Some(s.totals.top_off_l));
        if self.summaries.iter().any(|s| s.totals.pump_starts > 0) {
            add("top-off pump starts".into(), "a day", &|s| Some(s.totals.pump_starts as f64 / s.days.max(1e-9)));
            add("top-off pump runs".into(), "h/d", &|s| Some(s.totals.pump_h / s.days.max(1e-9)));
        }
        add("to waste".into(), "L", &|s| Some(s.totals.waste_l));
        rows
    }
}

impl Comparison {
    /// For each variant what differs from the scenario as it stands, the largest share first: the row, by how
    /// much, and from what.
    #[must_use]
    pub fn differences(&self, most: usize) -> Vec<Vec<(ComparisonRow, f64)>> {
        let rows = self.rows();
        (1..self.names.len())
            .map(|v| {
                let mut moved: Vec<(ComparisonRow, f64)> = rows
                    .iter()
                    // Causes of drift cancel each other; the one that drives is named by itself.
                    .filter(|row| !row.what.starts_with("salinity by "))
                    .filter_map(|row| {
                        let by = row.values[v]? - row.values[0]?;
                        let size = row.values[0]?.abs().max(row.values[v]?.abs());
                        (by.abs() > 5e-4 * size).then(|| (row.clone(), by))
                    })
                    .collect();
                let share = |m: &(ComparisonRow, f64)| {
                    let sizes = m.0.values.iter().flatten().map(|x| x.abs());
                    m.1.abs() / sizes.fold(f64::MIN_POSITIVE, f64::max)
                };
                moved.sort_by(|a, b| share(b).total_cmp(&share(a)));
                moved.truncate(most);
                moved
            })
            .collect()
    }

    /// For each variant the cause that moves the salinity more than before, by how much, and in what.
    #[must_use]
    pub fn drivers(&self) -> Vec<Option<(String, f64, String)>> {
        let rows = self.rows();
        (1..self.names.len())
            .map(|v| {
                rows.iter()
                    .filter_map(|row| {
                        let cause = row.what.strip_prefix("salinity by ")?;
                        Some((cause.to_owned(), row.values[v]? - row.values[0]?, row.unit.clone()))
                    })
                    .filter(|(_, by, _)| by.abs() > 5e-3)
                    .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
            })
            .collect()
    }
}
