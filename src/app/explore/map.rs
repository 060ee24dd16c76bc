//! The map of changes: size and interval, the edges of the bands, the plan in hand and the one with the least salt water.

use super::pictures::{Cells, Figure, figure};
use super::state::{Kind, kind_of};
use crate::app::edges::{Edge, drawn, edges, least_water, litres_a_day, room};
use crate::app::sweep::words;
use crate::app::{AppError, Loaded};
use crate::chart::{self, Head, Map, Picture};
use crate::model::{Amount, Plan, Schedule, SoluteId, Timing};
use crate::results::{Action, Summary};
use crate::study::{Going, Measure, evaluate, measure, usual_measures};
use crate::units::{Shown, YEAR_D, significant, trimmed};

/// Sizes of a change on the map \[%\].
const SIZES: [f64; 10] = [2.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 50.0];
/// Intervals on the map \[d\]: whole days, so that a cycle with weekly and daily work stays short.
const INTERVALS: [f64; 11] = [1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 14.0, 17.0, 21.0, 28.0, 35.0];

/// The measure of the map where none is asked for: of the band that is broken, else of the first solute with an upper limit,
/// else of the salinity.
fn usual_measure(plan: &Plan, summary: &Summary) -> String {
    let of = |key: &str| if key == "salinity" { "settled.salinity.mean".into() } else { format!("settled.{key}.peak") };
    if let Some(broken) = summary.bands.iter().find(|b| !b.kept) {
        return of(&broken.key);
    }
    let limited =
        |i: SoluteId| plan.bands.iter().any(|b| b.of == crate::model::Variable::Solute(i) && b.high.is_some());
    let solute = plan.species.ids().find(|i| limited(*i)).map(|i| plan.species[i].solute.key.to_string());
    of(solute.as_deref().unwrap_or("salinity"))
}

/// The map of changes.
pub(super) struct MapOfChanges {
    pub(super) figure: Figure,
    /// What it shows.
    pub(super) measure: String,
    /// The plan that keeps every band with the least salt water.
    pub(super) least: Option<Action>,
}

/// The settled cycle over size and interval; nothing where there is no scheduled swap.
pub(super) fn map(
    loaded: &Loaded,
    asked: Option<&str>,
    summary: &Summary,
    width: u32,
    going: Going<'_>,
) -> Result<Option<MapOfChanges>, AppError> {
    let plan = &loaded.scenario.plan;
    let Some(change) = plan.regime.changes.first().filter(|_| kind_of(plan) == Kind::Swap) else { return Ok(None) };
    let Timing::Scheduled(schedule) = &change.timing else { return Ok(None) };
    let name = asked
        .filter(|m| usual_measures(plan).iter().any(|u| u == m))
        .map_or(usual_measure(plan, summary), str::to_owned);
    let of = Measure::parse(&name).map_err(|e| AppError::Usage(e.to_string()))?;
    let edges = edges(plan, true);
    let all: Vec<Measure> = std::iter::once(&of).chain(edges.iter().map(|e| &e.measure)).cloned().collect();
    let plans = plans(plan);
    let Some(grid) = evaluate(&plans, &all, going) else { return Err(AppError::Stopped) };
    let rows: Vec<Vec<Option<f64>>> =
        grid.rows.iter().map(|row| row.iter().map(|v| v.as_ref().ok().copied()).collect()).collect();
    if rows.iter().all(|row| row[0].is_none()) {
        return Ok(None);
    }
    let unit = of.unit(plan).map_err(|e| AppError::Usage(e.to_string()))?;
    let share = change.amount.of(plan.tank.operating) / plan.tank.operating;
    let of_edges: Vec<Vec<Option<f64>>> = rows.iter().map(|row| row[1..].to_vec()).collect();
    let rooms: Vec<Option<f64>> = of_edges.iter().map(|row| room(&edges, row)).collect();
    let here = schedule.period().map(|every| (100.0 * share, every));
    // Who changes once a week does not want to hear of a change a day, if it can be helped.
    let no_oftener = |i: usize| here.is_none_or(|(_, every)| place(i).1 >= every);
    let easy: Vec<Option<f64>> = rooms.iter().enumerate().map(|(i, room)| room.filter(|_| no_oftener(i))).collect();
    let (easy, any) = (least_water(&plans, &easy), least_water(&plans, &rooms));
    let grid = Grid {
        loaded,
        oftener: easy.is_none(),
        kept: rooms.iter().flatten().filter(|room| **room >= 0.0).count(),
        least: easy.or(any),
        of_edges,
        values: rows.iter().map(|row| row[0]).collect(),
        edges,
        plans,
        here,
    };
    let picture = Picture::Map(Map { runs_out: of.is_held(), ..grid.map(&name, unit) });
    let mut figure = figure("map", &picture, width)?;
    let key = loaded.change_key();
    let shown = loaded.scenario.view().of(&name, unit);
    figure.cells = Some(Cells {
        keys: [format!("{key}.amount"), format!("{key}.every")],
        across: SIZES.to_vec(),
        down: INTERVALS.to_vec(),
        values: in_rows(&grid.shown(&shown)),
        here: grid.here,
    });
    Ok(Some(MapOfChanges { figure, measure: name, least: grid.advice(&key) }))
}

/// Every size with every interval, the sizes fastest.
fn plans(plan: &Plan) -> Vec<Plan> {
    INTERVALS
        .iter()
        .flat_map(|every| SIZES.iter().map(move |size| (every, size)))
        .map(|(every, size)| {
            let mut plan = plan.clone();
            plan.disturbances.clear();
            let change = &mut plan.regime.changes[0];
            change.amount = Amount::Share(size / 100.0);
            change.timing = Timing::Scheduled(Schedule::every(*every, *every));
            plan
        })
        .collect()
}

/// Size and interval of a plan.
fn place(i: usize) -> (f64, f64) {
    (SIZES[i % SIZES.len()], INTERVALS[i / SIZES.len()])
}

fn in_rows(column: &[Option<f64>]) -> chart::Cells {
    column.chunks(SIZES.len()).map(<[_]>::to_vec).collect()
}

/// The plans of the map with what was measured.
struct Grid<'a> {
    loaded: &'a Loaded,
    edges: Vec<Edge>,
    /// What is measured at each edge, a row a plan.
    of_edges: Vec<Vec<Option<f64>>>,
    /// What the map shows, one a plan.
    values: Vec<Option<f64>>,
    plans: Vec<Plan>,
    /// The plan in hand.
    here: Option<(f64, f64)>,
    /// How many keep every band.
    kept: usize,
    /// Of those that ask for no more changes than now, or else of all, the one with the least salt water, and its litres a
    /// day.
    least: Option<(usize, f64)>,
    /// Whether it asks for more changes than now.
    oftener: bool,
}

impl Grid<'_> {
    fn shown(&self, shown: &Shown) -> Vec<Option<f64>> {
        self.values.iter().map(|v| v.map(|v| shown.value(v))).collect()
    }

    fn map(&self, name: &str, unit: &str) -> Map {
        let shown = self.loaded.scenario.view().of(name, unit);
        let mut marked: Vec<((f64, f64), String)> =
            self.here.map(|at| (at, "you are here".to_owned())).into_iter().collect();
        marked.extend(self.least.map(|(i, _)| (place(i), "least salt water".to_owned())));
        Map {
            head: Head {
                finding: match self.least {
                    Some((i, _)) => format!(
                        "{} of {} plans keep every band, with least water {} % every {} d",
                        self.kept,
                        self.plans.len(),
                        significant(place(i).0, 3),
                        significant(place(i).1, 3)
                    ),
                    None => format!("None of these {} plans keeps every band", self.plans.len()),
                },
                question: format!("How does {} depend on size and interval?", words(name)),
                note: format!(
                    "lines: {}, {}; orange: edges of the bands; left to go on for good, without faults, {} basis",
                    words(name),
                    shown.unit,
                    self.loaded.scenario.plan.basis.key()
                ),
            },
            x_label: "size of a change, %".into(),
            y_label: "days between changes".into(),
            unit: shown.unit.clone(),
            x: SIZES.to_vec(),
            y: INTERVALS.to_vec(),
            cells: in_rows(&self.shown(&shown)),
            runs_out: false,
            limits: drawn(&self.edges, &self.of_edges, &self.loaded.scenario.view(), in_rows),
            plans: marked,
        }
    }

    /// To change as the plan with the least salt water does, with what that takes a year.
    fn advice(&self, key: &str) -> Option<Action> {
        let (i, litres) = self.least?;
        let (size, every) = place(i);
        let (plan, view) = (&self.plans[i], self.loaded.scenario.view());
        let a_year = |of: &Measure| measure(plan, of).ok().map(|v| v / plan.horizon.days() * YEAR_D);
        let hours = a_year(&Measure::Minutes)
            .map_or(String::new(), |min| format!(", {} h of work", significant(min / 60.0, 2)));
        let money = a_year(&Measure::Cost)
            .map_or(String::new(), |cost| format!(", {} {}", significant(cost, 3), plan.costs.currency));
        Some(Action {
            what: format!(
                "Change {} % every {}. That takes the least salt water of the plans on the map that keep every band{}: {} a year{money}{hours}.",
                trimmed(size, 0),
                if every == 1.0 { "day".to_owned() } else { format!("{} days", trimmed(every, 0)) },
                if self.oftener { "" } else { " with no more changes than now" },
                view.say("", litres * YEAR_D, "L", 3)
            ) + &litres_a_day(&self.loaded.scenario.plan)
                .map_or(String::new(), |now| format!(" Your plan now takes {}.", view.say("", now * YEAR_D, "L", 3))),
            set: vec![format!("{key}.amount={size} %"), format!("{key}.every={every} d")],
            or: Vec::new(),
        })
    }
}
