//! `drift`: how long until a drift of salinity is seen, and what the keeper's own log says.

use super::tank_log::{DateOrder, TankLog, read_tank_log};
use super::{AppError, Folder, Loaded};
use crate::chart::{Line, Picture, Series};
use crate::learn::{Habit, LogVerdict, ReadingRow, WAYS, book_keeping_d, detection, look_at_log};
use crate::model::DayToDay;
use crate::results::Warning;
use crate::units::{MONTH_D, trimmed};

/// How long each way of looking takes.
#[derive(Clone, Debug, serde::Serialize)]
pub struct DriftAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// The drift \[psu/month\].
    pub drift_psu_per_month: f64,
    /// Deviation of a single reading \[psu\].
    pub deviation_psu: f64,
    /// Days between readings.
    pub every_d: f64,
    /// Each way.
    pub ways: Vec<DriftWay>,
    /// Days until the book of the top-off used shows it, where the drift comes from a flow.
    pub book_keeping_d: Option<f64>,
    /// What the log says.
    pub log: Option<LogAnswer>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
}

/// One way of looking.
#[derive(Clone, Debug, serde::Serialize)]
pub struct DriftWay {
    /// Its name.
    pub name: String,
    /// Days until it is seen with a chance of 50 %.
    pub half_d: Option<f64>,
    /// With a chance of 90 %.
    pub nine_tenths_d: Option<f64>,
    /// Mean days between false alarms.
    pub false_alarm_d: Option<f64>,
}

/// What a log of readings says.
#[derive(Clone, Debug, serde::Serialize)]
pub struct LogAnswer {
    /// Readings used.
    pub readings: usize,
    /// Rows left out, each with its line and reason.
    pub left_out: Vec<String>,
    /// Deviation of a single reading \[psu\].
    pub deviation_psu: f64,
    /// Slope \[psu/month\], its standard error, and the chance of one as large by chance.
    pub slope_psu_per_month: f64,
    /// See above.
    pub slope_error: f64,
    /// See above.
    pub slope_by_chance: f64,
    /// First day on which the moving average leaves its limits.
    pub ewma_signal_d: Option<f64>,
    /// First day on which the cumulative sums do.
    pub cusum_signal_d: Option<f64>,
    /// In a sentence.
    pub verdict: String,
}

/// What is asked for.
#[derive(Clone, Debug)]
pub struct DriftRequest {
    /// The drift \[psu/d\].
    pub psu_per_d: f64,
    /// Days between readings.
    pub every_d: f64,
    /// Deviation of a reading \[psu\]; that of the scenario's meter where it is absent.
    pub deviation_psu: Option<f64>,
    /// A log: CSV with `date` (or `time_d`) and `salinity_psu`.
    pub log: Option<std::path::PathBuf>,
    /// What the log should stay at \[psu\]; the scenario's salinity where it is absent.
    pub target_psu: Option<f64>,
}

/// The answer with the picture of the log.
#[derive(Debug)]
pub struct DriftResult {
    /// The answer.
    pub drift: DriftAnswer,
    /// The log with its limits.
    pub pictures: Vec<(String, Picture)>,
}

/// Works it out.
pub fn drift(loaded: &Loaded, request: &DriftRequest) -> Result<DriftResult, AppError> {
    let plan = &loaded.scenario.plan;
    let deviation = request.deviation_psu.unwrap_or(plan.regime.meter.uncertainty_psu()).max(1e-3);
    let habit = Habit { every_d: request.every_d, deviation_psu: deviation };
    let ways = WAYS
        .into_iter()
        .map(|(name, way)| {
            let d = detection(way, habit, request.psu_per_d);
            DriftWay {
                name: name.into(),
                half_d: d.half_d,
                nine_tenths_d: d.nine_tenths_d,
                false_alarm_d: d.false_alarm_d,
            }
        })
        .collect();
    let mut pictures = Vec::new();
    let log = match &request.log {
        None => None,
        Some(path) => {
            let TankLog { rows, left_out } = read_tank_log(path, plan, DateOrder::Iso)?;
            let rows: Vec<ReadingRow> =
                rows.iter().filter_map(|r| Some(ReadingRow { time_d: r.time_d, psu: r.salinity_psu? })).collect();
            let target = request.target_psu.unwrap_or(plan.tank.salinity.psu());
            let verdict = look_at_log(&rows, target, request.deviation_psu).ok_or_else(|| {
                AppError::Usage(format!("{}: at least five readings at different times are needed; it has {}\n  = help: a row a reading, as in 2026-03-14,35.1", path.display(), rows.len()))
            })?;
            pictures.push(("drift".to_owned(), picture(loaded, &rows, &verdict, target)));
            Some(answer(&rows, left_out, &verdict))
        }
    };
    let evaporation = plan.regime.evaporation.on_day(0.0);
    let litres = plan.tank.operating.litres();
    let drift = DriftAnswer {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: loaded.scenario.name.clone(),
        basis: plan.basis.key().into(),
        drift_psu_per_month: request.psu_per_d * MONTH_D,
        deviation_psu: deviation,
        every_d: request.every_d,
        ways,
        book_keeping_d: book_keeping_d(
            request.psu_per_d,
            litres,
            plan.tank.salinity.psu(),
            evaporation,
            DayToDay::USUAL,
        ),
        log,
        warnings: Vec::new(),
    };
    Ok(DriftResult { drift, pictures })
}

fn answer(rows: &[ReadingRow], left_out: Vec<String>, v: &LogVerdict) -> LogAnswer {
    let slope = v.slope.0 * MONTH_D;
    let signal = match (v.ewma_signal_d, v.cusum_signal_d) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (a, b) => a.or(b),
    };
    let verdict = match signal {
        Some(day) => format!(
            "The readings leave the target {} on day {}: look for the cause.",
            if v.upwards || (v.cusum_signal_d.is_none() && slope > 0.0) { "upwards" } else { "downwards" },
            trimmed(day, 1)
        ),
        None if v.slope.2 < 0.05 => "Both charts are silent, but the straight line has a slope: read on.".into(),
        None => "No drift shows in these readings.".into(),
    };
    LogAnswer {
        readings: rows.len(),
        left_out,
        deviation_psu: v.deviation_psu,
        slope_psu_per_month: slope,
        slope_error: v.slope.1 * MONTH_D,
        slope_by_chance: v.slope.2,
        ewma_signal_d: v.ewma_signal_d,
        cusum_signal_d: v.cusum_signal_d,
        verdict,
    }
}

fn picture(loaded: &Loaded, rows: &[ReadingRow], v: &LogVerdict, target: f64) -> Picture {
    let limit = v.ewma_limit_psu;
    Picture::Series(Series {
        title: "Do the readings drift?".into(),
        note: format!(
            "{}; shaded: limits of the moving average (EWMA, weight 0.2) about {} psu",
            loaded.scenario.name,
            trimmed(target, 2)
        ),
        x_label: "days from the first reading".into(),
        y_label: "salinity [psu]".into(),
        unit: "psu".into(),
        band: (Some(target - limit), Some(target + limit)),
        lines: vec![
            Line { label: "readings".into(), points: rows.iter().map(|r| (r.time_d, r.psu)).collect() },
            Line {
                label: "moving average".into(),
                points: rows.iter().zip(&v.ewma).map(|(r, e)| (r.time_d, *e)).collect(),
            },
        ],
        ..Series::default()
    })
}

impl DriftResult {
    /// Writes JSON and picture.
    pub fn write(&self, folder: &Folder) -> Result<(), AppError> {
        folder.write("drift.json", self.json()?.as_bytes())?;
        folder.write_pictures(&self.pictures)
    }

    /// The answer as JSON.
    pub fn json(&self) -> Result<String, AppError> {
        super::to_json(&self.drift)
    }
}
