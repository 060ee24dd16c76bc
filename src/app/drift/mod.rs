//! `drift`: how long until a drift of salinity is seen, and what the keeper's own log says.

mod answer;
mod request;
mod words;

pub use answer::{DriftAnswer, DriftResult, DriftWay, LogAnswer, TestedAnswer};
pub use request::DriftRequest;

use crate::app::log::{TankLog, read_tank_log};
use crate::app::{AppError, Loaded};
use crate::chart::{Head, Line, Picture, Series};
use crate::learn::{Habit, LogVerdict, ReadingRow, Tested, WAYS, book_keeping_d, detection, look_at_log};
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
            let log = read_tank_log(path, plan, &request.reading)?;
            let understood = log.words();
            let TankLog { rows, left_out, .. } = log;
            let rows: Vec<ReadingRow> =
                rows.iter().filter_map(|r| Some(ReadingRow { time_d: r.time_d, psu: r.salinity_psu? })).collect();
            let target = request.target_psu.unwrap_or(plan.tank.salinity.psu());
            let verdict = look_at_log(&rows, target, deviation).ok_or_else(|| {
                AppError::Usage(format!("{}: at least five readings at different times are needed; it has {}\n  = help: a row a reading, as in 2026-03-14,35.1", path.display(), rows.len()))
            })?;
            pictures.push(("drift".to_owned(), picture(loaded, &verdict, target)));
            Some(answer(understood, rows.len(), left_out, &verdict))
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

fn answer(understood: String, readings: usize, left_out: Vec<String>, v: &LogVerdict) -> LogAnswer {
    let course = if v.moves() {
        let way = if v.upwards() { "upwards" } else { "downwards" };
        if v.jump.by_chance < v.slope.by_chance {
            format!(
                "Readings jumped {way} by {} psu, about day {}. Check the meter with a standard, then ask what changed that week.",
                trimmed(v.jump.value.abs(), 2),
                trimmed(v.jump_d, 1)
            )
        } else {
            format!(
                "Readings drift {way} by {} psu a month. Look for the cause.",
                trimmed((v.slope.value * MONTH_D).abs(), 2)
            )
        }
    } else {
        "No drift shows in these readings.".into()
    };
    let off = if v.is_off() {
        let way = if v.offset.value > 0.0 { "above" } else { "below" };
        format!(
            " Their mean is {} psu {way} the target: an offset of the tank or of the meter.",
            trimmed(v.offset.value.abs(), 2)
        )
    } else {
        String::new()
    };
    let tested =
        |t: Tested, scale: f64| TestedAnswer { value: t.value * scale, error: t.error * scale, by_chance: t.by_chance };
    LogAnswer {
        understood,
        readings,
        left_out,
        deviation_psu: v.deviation_psu,
        correlation: v.correlation,
        offset_psu: tested(v.offset, 1.0),
        slope_psu_per_month: tested(v.slope, MONTH_D),
        jump_psu: tested(v.jump, 1.0),
        jump_d: v.jump_d,
        moves: v.moves(),
        is_off: v.is_off(),
        verdict: course + &off,
    }
}

fn picture(loaded: &Loaded, v: &LogVerdict, target: f64) -> Picture {
    let found = match (v.moves(), v.is_off()) {
        (true, _) => "The readings move: more than their own noise explains",
        (false, true) => "The readings do not move, but lie off the target",
        (false, false) => "The readings neither move nor lie off the target",
    };
    let mean = target + v.offset.value;
    let shown = loaded.scenario.view().of("salinity", "psu");
    let points =
        |of: &dyn Fn(usize) -> f64| v.rows.iter().enumerate().map(|(k, r)| (r.time_d, shown.value(of(k)))).collect();
    Picture::Series(Series {
        head: Head {
            finding: found.to_owned(),
            question: "Do the readings drift?".into(),
            note: format!(
                "{}; shaded: limits of the moving average (EWMA, weight 0.2) about the mean of {}; target {} {}",
                loaded.scenario.name,
                shown.number(mean, 4),
                shown.number(target, 4),
                shown.unit
            ),
        },
        x_label: "days from the first reading".into(),
        y_label: format!("salinity, {}", shown.unit),
        band: shown.edges((Some(mean - v.limit_psu), Some(mean + v.limit_psu))),
        unit: shown.unit.clone(),
        lines: vec![
            Line::new("readings", points(&|k| v.rows[k].psu)),
            Line::new("moving average", points(&|k| v.average[k])),
        ],
        ..Series::default()
    })
}
