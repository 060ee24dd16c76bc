//! The pictures of the page: the run with its fan and the pinned run, the map of changes, the drift, the reservoir.

use super::Stage;
use super::state::{Kind, kind_of};
use crate::app::away::fall;
use crate::app::edges::{drawn, edges, litres_a_day, room};
use crate::app::sweep::words;
use crate::app::{AppError, Loaded, RunResult};
use crate::chart::{self, Bar, Bars, Head, Line, Map, Picture, Series, decimate};
use crate::export;
use crate::model::{Amount, Plan, Schedule, SoluteId, Timing};
use crate::results::{Action, Drift, DriftPer, Ensemble, Summary};
use crate::study::{Going, Measure, evaluate, usual_measures};
use crate::units::{YEAR_D, significant, trimmed};

/// A picture as the page shows it.
#[derive(Clone, Debug, serde::Serialize)]
pub struct Figure {
    /// Its name.
    pub key: String,
    /// What it shows, in a sentence.
    pub title: String,
    /// What it shows, in words.
    pub words: String,
    /// The picture.
    pub svg: String,
    /// Width and height it was drawn in \[px\].
    pub size: (u32, u32),
    /// Where its numbers lie.
    pub plot: Option<crate::chart::Plot>,
    /// Name of the numbers across, with their unit.
    pub across: String,
    /// The date of day 0, where days run across and it is known.
    pub since: Option<String>,
    /// Unit of the values.
    pub unit: String,
    /// Lines, for reading values off: name and points.
    pub lines: Vec<(String, Vec<(f64, f64)>)>,
    /// For the map: places across and down, and the value of each cell.
    pub cells: Option<Cells>,
}

/// The numbers of the map.
#[derive(Clone, Debug, serde::Serialize)]
pub struct Cells {
    /// Key of the places across, and of those down.
    pub keys: [String; 2],
    /// Sizes of a change \[%\].
    pub across: Vec<f64>,
    /// Intervals \[d\].
    pub down: Vec<f64>,
    /// `values[row][column]`.
    pub values: Vec<Vec<Option<f64>>>,
}

/// Points of a line that values are read off from.
const READ_POINTS: usize = 120;
/// Narrowest picture whose labels have room \[px\]; a narrower screen shows it smaller.
const NARROWEST: u32 = 420;
/// Widest picture \[px\].
const WIDEST: u32 = 1200;

/// Draws a picture for a screen of some width.
pub(super) fn figure(key: &str, picture: &Picture, width: u32) -> Result<Figure, AppError> {
    let width = width.clamp(NARROWEST, WIDEST);
    let height = match picture {
        Picture::Series(_) | Picture::Map(_) => (width * 11 / 20 + 60).clamp(300, 460),
        other => other.size_for(width).1,
    };
    let (svg, plot) = export::svg_sized(picture, (width, height))?;
    let (across, since, unit, lines) = match picture {
        Picture::Series(series) => (
            series.x_label.clone(),
            series.since.map(|date| date.to_string()),
            series.unit.clone(),
            series.lines.iter().map(|l| (l.label.clone(), decimate(&l.points, READ_POINTS))).collect(),
        ),
        Picture::Map(map) => (map.x_label.clone(), None, map.unit.clone(), Vec::new()),
        _ => (String::new(), None, String::new(), Vec::new()),
    };
    Ok(Figure {
        key: key.into(),
        title: picture.head().finding.clone() + ".",
        words: picture.words(),
        svg,
        size: (width, height),
        plot,
        across,
        since,
        unit,
        lines,
        cells: None,
    })
}

/// The run's own pictures: salinity, solutes and level, with the fan and the pinned run.
pub(super) fn courses(now: &Stage, fan: Option<&Ensemble>, pinned: Option<&RunResult>) -> Vec<(String, Picture)> {
    let (run, view) = (&now.run, now.loaded.scenario.view());
    let mut list = Vec::new();
    for (key, picture) in &run.pictures {
        let Picture::Series(series) = picture else { continue };
        let mut series: Series = series.clone();
        if let Some(q) = fan.and_then(|e| e.quantities.iter().find(|q| q.key == *key)) {
            let times = fan.map_or(&[][..], |e| &e.time_d);
            let shown = view.of(&q.key, &q.unit);
            let line = |level: usize| shown.points(&q.points(level, times));
            series.fans = vec![(line(0), line(4)), (line(1), line(3))];
            series.head.note += "; shaded in blue: 5 to 95 % and 25 to 75 %";
        }
        let other = pinned.and_then(|p| p.pictures.iter().find(|(k, _)| k == key)).map(|(_, p)| p);
        if let Some(Picture::Series(other)) = other {
            for line in &mut series.lines {
                line.label = "now".into();
            }
            series.lines.extend(other.lines.iter().map(|l| Line { label: "pinned".into(), points: l.points.clone() }));
        }
        if let Some(see) = now.state.see {
            series = series.between(see);
        }
        list.push((key.clone(), Picture::Series(series)));
    }
    list
}

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
    measure: Option<&str>,
    summary: &Summary,
    width: u32,
    going: Going<'_>,
) -> Result<Option<MapOfChanges>, AppError> {
    let plan = &loaded.scenario.plan;
    let Some(change) = plan.regime.changes.first().filter(|_| kind_of(plan) == Kind::Swap) else { return Ok(None) };
    let Timing::Scheduled(schedule) = &change.timing else { return Ok(None) };
    let name = measure
        .filter(|m| usual_measures(plan).iter().any(|u| u == m))
        .map_or(usual_measure(plan, summary), str::to_owned);
    let measure = Measure::parse(&name).map_err(|e| AppError::Usage(e.to_string()))?;
    let plans: Vec<Plan> = INTERVALS
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
        .collect();
    let edges = edges(plan, true);
    let all: Vec<Measure> = std::iter::once(&measure).chain(edges.iter().map(|e| &e.measure)).cloned().collect();
    let Some(grid) = evaluate(&plans, &all, going) else { return Err(AppError::Stopped) };
    let shown = loaded.scenario.view().of(&name, measure.unit(plan).map_err(|e| AppError::Usage(e.to_string()))?);
    let value = |row: &Vec<Result<f64, _>>| row[0].as_ref().ok().map(|v| shown.value(*v));
    let column: Vec<Option<f64>> = grid.rows.iter().map(value).collect();
    let cells: Vec<Vec<Option<f64>>> = column.chunks(SIZES.len()).map(<[_]>::to_vec).collect();
    if column.iter().all(Option::is_none) {
        return Ok(None);
    }
    let share = change.amount.of(plan.tank.operating) / plan.tank.operating;
    let of_edges: Vec<Vec<Option<f64>>> =
        grid.rows.iter().map(|row| row[1..].iter().map(|v| v.as_ref().ok().copied()).collect()).collect();
    let rooms: Vec<Option<f64>> = of_edges.iter().map(|row| room(&edges, row)).collect();
    let in_rows =
        |column: Vec<Option<f64>>| -> chart::Cells { column.chunks(SIZES.len()).map(<[_]>::to_vec).collect() };
    let kept: Vec<usize> = (0..plans.len()).filter(|i| rooms[*i].is_some_and(|room| room >= 0.0)).collect();
    let litres = |i: usize| litres_a_day(&plans[i]).unwrap_or(f64::INFINITY);
    let least = kept.iter().copied().min_by(|a, b| litres(*a).total_cmp(&litres(*b)));
    let place = |i: usize| (SIZES[i % SIZES.len()], INTERVALS[i / SIZES.len()]);
    let mut marked: Vec<((f64, f64), String)> =
        schedule.period().map(|every| ((100.0 * share, every), "you are here".to_owned())).into_iter().collect();
    marked.extend(least.map(|i| (place(i), "least salt water".to_owned())));
    let picture = Picture::Map(Map {
        head: Head {
            finding: match least {
                Some(i) => format!(
                    "{} of {} plans keep every band, with least water {} % every {} d",
                    kept.len(),
                    plans.len(),
                    significant(place(i).0, 3),
                    significant(place(i).1, 3)
                ),
                None => format!("None of these {} plans keeps every band", plans.len()),
            },
            question: format!("How does {} depend on size and interval?", words(&name)),
            note: format!(
                "lines: {}, {}; orange: edges of the bands; left to go on for good, without faults, {} basis",
                words(&name),
                shown.unit,
                plan.basis.key()
            ),
        },
        x_label: "size of a change, %".into(),
        y_label: "days between changes".into(),
        unit: shown.unit,
        x: SIZES.to_vec(),
        y: INTERVALS.to_vec(),
        cells: cells.clone(),
        limits: drawn(&edges, &of_edges, &loaded.scenario.view(), in_rows),
        plans: marked,
    });
    let mut figure = figure("map", &picture, width)?;
    let key = loaded.change_key();
    figure.cells = Some(Cells {
        keys: [format!("{key}.amount"), format!("{key}.every")],
        across: SIZES.to_vec(),
        down: INTERVALS.to_vec(),
        values: cells,
    });
    let least = least.map(|i| {
        let (size, every) = place(i);
        Action {
            what: format!(
                "Change {} % every {} d: of these plans the one with the least salt water, {} a year.",
                trimmed(size, 0),
                trimmed(every, 0),
                loaded.scenario.view().say("", litres(i) * YEAR_D, "L", 3)
            ),
            set: vec![format!("{key}.amount={size} %"), format!("{key}.every={every} d")],
            or: Vec::new(),
        }
    });
    Ok(Some(MapOfChanges { figure, measure: name, least }))
}

/// What moves the salinity.
pub(super) fn drift(now: &[Drift], per: DriftPer, basis: &str) -> Option<Picture> {
    let bars: Vec<Bar> = now
        .iter()
        .filter(|d| per.psu(d).abs() > 5e-5)
        .map(|d| Bar { label: d.cause.into(), amount: per.psu(d), other: None })
        .collect();
    let sum: f64 = now.iter().map(|d| per.psu(d)).sum();
    let signed = |v: f64| format!("{}{}", if v > 0.0 { "+" } else { "" }, significant(v, 3));
    let per_words = match per {
        DriftPer::Month => "a month",
        DriftPer::Run => "in this run",
    };
    (!bars.is_empty()).then(|| {
        Picture::Bars(Bars {
            head: Head {
                finding: format!("In all {} psu {}", signed(sum), per_words),
                question: format!("What moves the salinity, {per_words}?"),
                note: format!("mean of the whole run, {basis} basis"),
            },
            unit: "psu".into(),
            bars,
        })
    })
}

/// Longest time that the picture of the reservoir shows \[d\], and its points.
const RESERVOIR_D: f64 = 21.0;
/// See above.
const STEPS: u32 = 42;

/// Reservoir of a float: days that it lasts against the fall of salinity if its valve sticks open.
pub(super) fn reservoir(plan: &Plan) -> Option<Picture> {
    let rate = plan.regime.evaporation.on_day(0.0);
    if !plan.regime.top_off.can_stick() || rate <= 0.0 {
        return None;
    }
    let points: Vec<(f64, f64)> = (0..=STEPS)
        .map(|i| RESERVOIR_D * f64::from(i) / f64::from(STEPS))
        .map(|days| (days, fall(plan, days * rate)))
        .filter(|(_, fall)| fall.is_finite())
        .collect();
    let band = plan.bands.iter().find(|b| b.of == crate::model::Variable::Salinity).and_then(|b| b.low);
    let allowed = band.map(|low| (plan.tank.salinity.psu() - low).max(0.0));
    let safe_days = allowed.and_then(|a| points.iter().rev().find(|(_, fall)| *fall <= a).map(|p| p.0));
    let yours =
        plan.regime.top_off.reservoir.as_ref().map(|r| r.capacity.litres() / rate).filter(|d| *d <= RESERVOIR_D);
    Some(Picture::Series(Series {
        head: Head {
            finding: safe_days.map_or_else(
                || "What a stuck valve does, by the size of the reservoir".to_owned(),
                |days| format!("A reservoir for {} d or less is safe if its valve sticks open", trimmed(days, 1)),
            ),
            question: "How large a top-off reservoir: days it lasts against the worst fall?".into(),
            note: format!("at the evaporation of the first day, {} basis, nothing spilled", plan.basis.key()),
        },
        x_label: "days that it lasts".into(),
        y_label: "fall if the valve sticks open, psu".into(),
        band_name: if allowed.is_some() { "a fall that the band allows".into() } else { String::new() },
        unit: "psu".into(),
        band: (allowed.map(|_| 0.0), allowed),
        lines: vec![Line { label: "worst fall".into(), points }],
        marks: yours.map(|d| (d, "yours".to_owned())).into_iter().collect(),
        from_zero: true,
        ..Series::default()
    }))
}
