//! The edges of a plan's bands as measures: which plans of a grid keep every band, and where each edge runs on a map.

use crate::chart::{Cells, Limit};
use crate::model::{Change, Plan, Timing, Variable};
use crate::results::spoken;
use crate::solutes::View;
use crate::study::{Measure, MeasuredQuantity, Statistic};

/// One edge of a band, with the measure that must stay on its inner side.
#[derive(Clone, Debug)]
pub(super) struct Edge {
    /// The quantity's key and unit.
    key: String,
    unit: String,
    /// What must stay inside.
    pub(super) measure: Measure,
    level: f64,
    upper: bool,
}

/// Every edge of every band; by the settled cycle, or by the run.
pub(super) fn edges(plan: &Plan, settled: bool) -> Vec<Edge> {
    let mut edges = Vec::new();
    for band in &plan.bands {
        let (key, unit) = plan.named(band.of);
        let of = match band.of {
            Variable::Salinity => MeasuredQuantity::Salinity,
            Variable::Solute(_) => MeasuredQuantity::Solute(key.to_owned()),
        };
        let sides = [(band.low, Statistic::Trough, false), (band.high, Statistic::Peak, true)];
        for (level, statistic, upper) in sides.into_iter().filter_map(|(level, s, upper)| Some((level?, s, upper))) {
            let of = of.clone();
            let measure = if settled { Measure::Settled(of, statistic) } else { Measure::Run(of, statistic) };
            edges.push(Edge { key: key.to_owned(), unit: unit.to_owned(), measure, level, upper });
        }
    }
    edges
}

impl Edge {
    /// How far inside a value is, as a share of the edge; negative where it is outside.
    fn room(&self, value: f64) -> f64 {
        let inwards = if self.upper { self.level - value } else { value - self.level };
        // What touches its edge is inside.
        (inwards + 1e-9 * self.level.abs()) / self.level.abs().max(1e-9)
    }

    /// What is written beside it: `highest nitrate 20 mg/L`.
    fn name(&self, view: &View) -> String {
        let side = if self.upper { "highest" } else { "lowest" };
        format!("{side} {} {}", spoken(&self.key), view.say(&self.key, self.level, &self.unit, 4))
    }
}

/// Room to the nearest edge, where every edge could be measured.
pub(super) fn room(edges: &[Edge], values: &[Option<f64>]) -> Option<f64> {
    let rooms = edges.iter().zip(values).map(|(edge, value)| value.map(|value| edge.room(value)));
    rooms.collect::<Option<Vec<f64>>>()?.into_iter().min_by(f64::total_cmp)
}

/// The edges as they are drawn on a map; `cells` puts a column of values, one a plan, into the map's order.
pub(super) fn drawn(
    edges: &[Edge],
    rows: &[Vec<Option<f64>>],
    view: &View,
    cells: impl Fn(&[Option<f64>]) -> Cells,
) -> Vec<Limit> {
    let column = |k: usize| rows.iter().map(|row| row.get(k).copied().flatten()).collect::<Vec<_>>();
    let limit = |(k, edge): (usize, &Edge)| Limit {
        name: edge.name(view),
        cells: cells(&column(k)),
        level: edge.level,
        upper: edge.upper,
    };
    edges.iter().enumerate().map(limit).collect()
}

/// A key in words, as an axis is named: `size of a change`.
pub(super) fn key_words(key: &str) -> String {
    match key {
        "change.amount" => "size of a change".into(),
        "change.every" => "days between changes".into(),
        other if other.starts_with("waters.") && other.ends_with(".salinity") => {
            let water = other.trim_start_matches("waters.").trim_end_matches(".salinity");
            format!("salinity of the {}", spoken(water))
        }
        other => {
            let within = ["solutes.", "losses."].iter().find_map(|table| other.strip_prefix(table));
            within.unwrap_or(other).replace(['.', '_'], " ")
        }
    }
}

/// A key in words with its unit.
pub(super) fn axis_words(key: &str, unit: &str) -> String {
    match (key, unit) {
        // The name says the unit.
        ("change.every", "d") | (_, "") => key_words(key),
        _ => format!("{}, {unit}", key_words(key)),
    }
}

/// Of the plans that keep every band, the one whose scheduled changes take the least water, and how much that is \[L/d\];
/// nothing where none keeps them, or no change is scheduled.
pub(super) fn least_water(plans: &[Plan], rooms: &[Option<f64>]) -> Option<(usize, f64)> {
    let kept = plans.iter().zip(rooms).enumerate().filter(|(_, (_, room))| room.is_some_and(|room| room >= 0.0));
    let litres = kept.filter_map(|(i, (plan, _))| Some((i, litres_a_day(plan)?)));
    litres.min_by(|a, b| a.1.total_cmp(&b.1))
}

/// Water that scheduled changes take \[L/d\]; nothing where there is none, or one that is not on a schedule.
pub(super) fn litres_a_day(plan: &Plan) -> Option<f64> {
    let one = |change: &Change| match &change.timing {
        Timing::Scheduled(schedule) => Some(change.amount.of(plan.tank.operating).litres() / schedule.period()?),
        Timing::Triggered(_) => None,
    };
    plan.regime.changes.iter().map(one).sum::<Option<f64>>().filter(|litres| *litres > 0.0)
}
