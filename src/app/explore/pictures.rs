//! The pictures of the page: the run with its fan and the pinned run, the map of changes, the drift, the reservoir.

use super::Stage;
use crate::app::away::fall;
use crate::app::{AppError, RunResult};
use crate::chart::{Bar, Bars, Head, Line, Picture, Series, decimate};
use crate::export;
use crate::model::Plan;
use crate::results::{Drift, DriftPer, Ensemble};
use crate::units::{significant, trimmed};

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
    /// Bars: name, and amount or both ends of a swing.
    pub bars: Vec<(String, Vec<f64>)>,
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
    /// Size and interval of the plan in hand.
    pub here: Option<(f64, f64)>,
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
        Picture::Series(_) => (width * 11 / 20 + 60).clamp(300, 460),
        Picture::Map(_) => (width * 17 / 20 + 60).clamp(420, 640),
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
        Picture::Bars(bars) => (String::new(), None, bars.unit.clone(), Vec::new()),
        _ => (String::new(), None, String::new(), Vec::new()),
    };
    let bars = match picture {
        Picture::Bars(bars) => bars.bars.iter().map(|b| (b.label.clone(), b.lengths().collect())).collect(),
        _ => Vec::new(),
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
        bars,
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
            series.lines.extend(other.lines.iter().map(|l| Line::new("pinned", l.points.clone())));
        }
        if let Some(see) = now.state.see {
            series = series.between(see);
        }
        list.push((key.clone(), Picture::Series(series)));
    }
    list
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
        lines: vec![Line::new("worst fall", points)],
        marks: yours.map(|d| (d, "yours".to_owned())).into_iter().collect(),
        from_zero: true,
        ..Series::default()
    }))
}
