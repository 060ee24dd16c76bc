//! The pictures of a sweep: a line over one key, a map over two.

use super::words as measure_words;
use crate::app::Loaded;
use crate::app::edges::{Edge, axis_words, drawn, key_words, least_water};
use crate::chart::{Cells, Head, Line, Map, Picture, Series};
use crate::model::Plan;
use crate::results::{Sweep, capitalised};
use crate::study::{KeyRange, Measure};
use crate::units::{number_with_unit, significant};

/// How the plans stand to their bands.
pub(super) struct Lines<'a> {
    pub(super) edges: &'a [Edge],
    /// What is measured at each edge, a row a plan.
    pub(super) of_edges: &'a [Vec<Option<f64>>],
    /// Room to the nearest edge, one a plan.
    pub(super) rooms: &'a [Option<f64>],
    pub(super) plans: &'a [Plan],
}

/// A picture a measure, each with its file name.
pub(super) fn pictures(
    counted: &Sweep,
    measures: &[Measure],
    ranges: &[KeyRange],
    loaded: &Loaded,
    lines: &Lines<'_>,
) -> Vec<(String, Picture)> {
    let view = loaded.scenario.view();
    let sweep = counted.shown(&view);
    let mut pictures = Vec::new();
    for (k, measure) in measures.iter().enumerate() {
        let (name, unit) = (&sweep.measures[k], &sweep.measure_units[k]);
        let column: Vec<Option<f64>> = sweep.values.iter().map(|row| row[k]).collect();
        let what = measure_words(name);
        let picture = if let [x, y] = ranges {
            Picture::Map(Map {
                runs_out: measure.is_held(),
                ..map(&sweep, (x, y), &column, (&what, unit), loaded, lines)
            })
        } else {
            let x = &ranges[0];
            let points: Vec<(f64, f64)> =
                x.numbers.iter().zip(&column).filter_map(|(x, v)| v.map(|v| (*x, v))).collect();
            let say = |p: Option<&(f64, f64)>| p.map_or("-".into(), |p| significant(p.1, 3));
            Picture::Series(Series {
                head: Head {
                    finding: super::words::kept_words(counted).unwrap_or_else(|| {
                        format!(
                            "{} goes from {} to {} {unit}",
                            capitalised(&what),
                            say(points.first()),
                            say(points.last())
                        )
                    }),
                    question: format!("How does {what} depend on {}?", key_words(&x.key)),
                    note: format!(
                        "{}, {} basis; every band: of all quantities, not of this one alone",
                        sweep.scenario, sweep.basis
                    ),
                },
                x_label: axis_words(&x.key, &x.unit),
                y_label: format!("{what}, {unit}"),
                unit: unit.clone(),
                band: view.of(name, &counted.measure_units[k]).edges(measure.band(&loaded.scenario.plan)),
                band_name: "allowed".into(),
                lines: vec![Line::new(name.rsplit('.').next().unwrap_or(name).to_owned(), points)],
                ..Series::default()
            })
        };
        pictures.push((name.replace('.', "_"), picture));
    }
    pictures
}

fn map(
    sweep: &Sweep,
    (x, y): (&KeyRange, &KeyRange),
    column: &[Option<f64>],
    (what, unit): (&str, &str),
    loaded: &Loaded,
    lines: &Lines<'_>,
) -> Map {
    // Plans run with the second key fastest; the map has a row a value of the second key.
    let (wide, high) = (x.numbers.len(), y.numbers.len());
    let cells = |column: &[Option<f64>]| -> Cells {
        (0..high).map(|j| (0..wide).map(|i| column[i * high + j]).collect()).collect()
    };
    let here = |range: &KeyRange| -> Option<f64> {
        let given = loaded.document.given(&range.key)?;
        let (number, unit) = number_with_unit(&given).ok()?;
        (unit == range.unit).then_some(number)
    };
    let mut plans = Vec::new();
    plans.extend(here(x).zip(here(y)).map(|at| (at, "the plan as it is".to_owned())));
    plans.extend(
        least_water(lines.plans, lines.rooms)
            .map(|(i, _)| ((x.numbers[i / high], y.numbers[i % high]), "least salt water".to_owned())),
    );
    Map {
        head: Head {
            finding: super::words::kept_words(sweep).unwrap_or_else(|| format!("{} over the plans", capitalised(what))),
            question: format!("How does {what} depend on {} and {}?", key_words(&x.key), key_words(&y.key)),
            note: format!(
                "lines: {what}, {unit}; orange: edges of the bands, of the highest or the lowest; {} basis",
                sweep.basis
            ),
        },
        x_label: axis_words(&x.key, &x.unit),
        y_label: axis_words(&y.key, &y.unit),
        unit: unit.to_owned(),
        x: x.numbers.clone(),
        y: y.numbers.clone(),
        cells: cells(column),
        runs_out: false,
        limits: drawn(lines.edges, lines.of_edges, &loaded.scenario.view(), cells),
        plans,
    }
}
