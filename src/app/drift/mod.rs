//! `drift`: how long until a drift of salinity is seen, and what the keeper's own log says.

mod answer;
mod request;
mod words;

pub use answer::{DriftAnswer, DriftResult, DriftWay, LogAnswer};
pub use request::DriftRequest;

use crate::app::log::{TankLog, read_tank_log};
use crate::app::{AppError, Loaded};
use crate::chart::{Line, Picture, Series};
use crate::learn::{Habit, LogVerdict, ReadingRow, WAYS, book_keeping_d, detection, look_at_log};
use crate::model::DayToDay;
use crate::units::{MONTH_D, trimmed};

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
            let TankLog { rows, left_out, .. } = read_tank_log(path, plan, &request.reading)?;
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
