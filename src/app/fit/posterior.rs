//! `fitted.toml`: the scenario from the end of the log on, with all that was learned and how it hangs together.
//!
//! What was fitted and the state of the tank at the end of the log are one normal law, on the value or on its logarithm:
//! mean `g(θ)` and covariance `G C Gᵀ` of the fit's covariance `C` and the derivatives `G`. It is written as the spreads of
//! keys and their correlations, which every command takes that knows spreads.

use crate::numerics::Elementary;
use std::path::Path;

use nalgebra::{DMatrix, DVector};

use super::keys::{KeyOf, concentration, key_of};
use crate::app::log::LogBegin;
use crate::app::{AppError, Loaded, days_after};
use crate::learn::{Estimate, Explanation, Fit, LogModel, Parameter};
use crate::model::{LOSSES, SoluteId, Timing};
use crate::scenario::{Document, SetError};
use crate::units::{YEAR_D, significant, trimmed};

/// A key of the scenario that the log has something to say of.
struct Key {
    written: KeyOf,
    of: Source,
}

/// Where its value comes from.
#[derive(Clone, Copy)]
enum Source {
    /// A parameter, and a step that was added to it, or multiplied.
    Parameter(Parameter, Option<Parameter>),
    /// The salinity of the new water, by so much \[psu\].
    NewWater(f64),
    /// The salinity at the end of the log.
    Salinity,
    /// A solute then.
    Solute(SoluteId),
}

/// Correlations below this are not worth a line.
const LEAST_CORRELATION: f64 = 0.01;

/// The scenario from the end of the log on.
pub(super) fn fitted_scenario(
    loaded: &Loaded,
    model: &LogModel<'_>,
    fit: &Fit,
    log: &Path,
    begins: LogBegin,
) -> Result<String, AppError> {
    let mut document = loaded.document.clone();
    let last_d = model.last_d();
    // The scenario goes on at the midnight after the last row.
    let end = days_after(begins.moment(loaded.scenario.start)?, last_d)?;
    let start = end.date().tomorrow().map_err(|e| AppError::Usage(e.to_string()))?;
    let on_d = super::days_between(end, start.to_datetime(jiff::civil::Time::midnight()));
    let mut set = |key: &str, value: String| -> Result<(), SetError> { document.set(&format!("{key}={value}")) };
    let keys = keys(loaded, model, fit);
    let joint = model.joint(fit, &|theta| values(model, &keys, theta, on_d));
    let Some((mean, covariance)) = joint else {
        return Err(AppError::Usage("the state at the end of the log cannot be worked out".into()));
    };
    if let Some(litres) = model.value(fit.theta(), Parameter::Volume) {
        let tank = &loaded.scenario.plan.tank;
        // A system that holds more by so much holds as much more at its other levels.
        let larger = litres / tank.operating.litres();
        for (key, level) in [("rim", tank.rim), ("return_pump_needs", tank.starve)] {
            if let Some(level) = level.filter(|_| loaded.document.has_key(&["tank", key])) {
                set(&format!("tank.{key}"), format!("{} L", significant(level.litres() * larger, 5)))?;
            }
        }
    }
    for (k, key) in keys.iter().enumerate() {
        let deviation = covariance[(k, k)].max(0.0).sqrt();
        let middle = if key.written.logarithm { mean[k].to_exp() } else { mean[k] };
        let value = significant(key.written.scale * middle, 5);
        set(&key.written.path, format!("{value} {}", key.written.unit))?;
        let spread = if key.written.logarithm {
            let cv = 100.0 * deviation.powi(2).to_exp_m1().sqrt();
            format!("lognormal({value} {}, {} %)", key.written.unit, significant(cv.clamp(0.1, 300.0), 4))
        } else {
            format!("normal({value} {u}, {} {u})", significant(deviation.max(1e-6), 4), u = key.written.unit)
        };
        set(&format!("uncertainty.spread.{}", key.written.path), spread)?;
    }
    let together = correlations(&keys, &covariance);
    if !together.is_empty() {
        set("uncertainty.correlation", format!("[{}]", together.join(", ")))?;
    }
    the_rest(&mut document, loaded, model, fit, on_d, start)?;
    // What nobody could read is not handed on: what was learned is then no tank.
    crate::scenario::read(&document).map_err(|problems| {
        let why = problems.list().first().map_or(String::new(), |problem| format!(": {}", problem.message));
        AppError::Usage(format!(
            "the log and the scenario do not fit together: the tank that comes of both is impossible{why}\n  = help: look for a cell that is wrong, or a part of the log that is of another tank: brinecast log {}",
            log.display()
        ))
    })?;
    let origin = format!(
        "# Fitted by brinecast {} to {}: {} values, scatter {} of what was stated. It begins where the log ends; what was\n# learned and the state of the tank hang together (uncertainty.correlation). Creep and leak are in losses.skimmate:\n# readings do not tell them apart.\n",
        env!("CARGO_PKG_VERSION"),
        log.display(),
        fit.residuals.len(),
        significant(fit.reduced.sqrt(), 2)
    );
    Ok(origin + &document.to_toml())
}

/// What is set without a spread: losses that cannot be told apart, solutes that were not measured, the season, the day of
/// the next change and of the start.
fn the_rest(
    document: &mut Document,
    loaded: &Loaded,
    model: &LogModel<'_>,
    fit: &Fit,
    on_d: f64,
    start: jiff::civil::Date,
) -> Result<(), AppError> {
    let plan = &loaded.scenario.plan;
    let mut set = |key: &str, value: String| -> Result<(), SetError> { document.set(&format!("{key}={value}")) };
    for loss in &LOSSES[1..] {
        set(&format!("losses.{}", loss.key), loss.nothing.into())?;
    }
    // A load that was fitted is all that comes in: the feed is in it, and what it brings of other solutes is their load.
    let fed =
        plan.species.ids().any(|i| plan.regime.feed[i] > 0.0 && model.value(fit.theta(), Parameter::Load(i)).is_some());
    if fed {
        set("feed", "none".into())?;
        for (i, species) in plan.species.each().filter(|(i, _)| plan.regime.feed[*i] > 0.0) {
            if model.value(fit.theta(), Parameter::Load(i)).is_none() {
                let load = (plan.regime.loads[i] + plan.regime.feed[i]) / plan.tank.operating.litres();
                let key = format!("solutes.{}.load", species.solute.key);
                set(&key, format!("{} {}/d", significant(load, 5), species.solute.unit()))?;
            }
        }
    }
    let end = model.at_end(fit.theta(), on_d);
    for (i, species) in plan.species.each() {
        if model.value(fit.theta(), Parameter::Start(i)).is_none()
            && let Some((_, solutes)) = &end
        {
            let (unit, scale) = concentration(&species.solute);
            let value = scale * solutes[crate::model::Id::place(i)].max(0.0);
            set(&format!("solutes.{}.start", species.solute.key), format!("{} {unit}", trimmed(value, 6)))?;
        }
        // What is laid down beside calcification stays as it was.
        let laid_down = species.calcified_per_day;
        if laid_down > 0.0
            && laid_down < species.uptake_per_day
            && let Some(demand) = model.value(fit.theta(), Parameter::Demand(i))
        {
            let rest = (1.0 - laid_down / species.uptake_per_day) * demand;
            let key = format!("solutes.{}.uptake", species.solute.key);
            set(&key, format!("{} {}/d", significant(rest, 5), species.solute.unit()))?;
        }
    }
    let season = [Parameter::SeasonCosine, Parameter::SeasonSine].map(|of| model.value(fit.theta(), of));
    if let [Some(cosine), Some(sine)] = season {
        // The season is told from the first row on; the scenario begins after the last.
        let peak = sine.angle_with(cosine) / std::f64::consts::TAU * YEAR_D - model.last_d() - on_d;
        #[expect(clippy::cast_possible_truncation, reason = "days of a year")]
        let days = jiff::Span::new().days(peak.rem_euclid(YEAR_D).round() as i64);
        let on = start.checked_add(days).map_err(|e| AppError::Usage(e.to_string()))?;
        set("evaporation.swing", format!("{} %", significant(100.0 * cosine.length_with(sine).min(0.99), 3)))?;
        set("evaporation.peak", on.to_string())?;
    }
    // A period that was told in days from the start stays where it was.
    for dated in loaded.dated_periods()? {
        document.set(&dated)?;
    }
    let mut set = |key: &str, value: String| -> Result<(), SetError> { document.set(&format!("{key}={value}")) };
    set("start", start.to_string())?;
    if let Some(first) = next_change(loaded, model, on_d) {
        set("change.first", format!("{} d", trimmed(first, 4)))?;
    }
    Ok(())
}

/// When the change of a tank that is changed at an interval comes next, counted from the end of the log \[d\].
fn next_change(loaded: &Loaded, model: &LogModel<'_>, on_d: f64) -> Option<f64> {
    let [change] = loaded.scenario.plan.regime.changes.as_slice() else { return None };
    let Timing::Scheduled(schedule) = &change.timing else { return None };
    let every = schedule.period().filter(|_| loaded.document.has_key(&["change", "every"]))?;
    let last = model.last_change_d()?;
    Some((last + every - model.last_d() - on_d).max(0.0))
}

/// The keys that the log has something to say of.
fn keys(loaded: &Loaded, model: &LogModel<'_>, fit: &Fit) -> Vec<Key> {
    let plan = &loaded.scenario.plan;
    let key = |e: &Estimate| {
        let step = match (e.of, model.explanation()) {
            (Parameter::Evaporation, Explanation::EvaporationStep(_)) => Some(Parameter::EvaporationStep),
            (Parameter::Bias, Explanation::MeterStep(_)) => Some(Parameter::MeterStep),
            (Parameter::Load(i), Explanation::LoadStep(of, _)) if of == i => Some(Parameter::LoadStep(i)),
            _ => None,
        };
        let source = match e.of {
            Parameter::StartSalinity => Source::Salinity,
            Parameter::Start(i) => Source::Solute(i),
            Parameter::LotStep => Source::NewWater(plan.waters[plan.new_water()].salinity.psu()),
            of => Source::Parameter(of, step),
        };
        Some(Key { written: key_of(plan, e.of)?, of: source })
    };
    fit.estimates.iter().filter_map(key).collect()
}

/// The values of the keys, or their logarithms, with some parameters.
fn values(model: &LogModel<'_>, keys: &[Key], theta: &DVector<f64>, on_d: f64) -> Option<DVector<f64>> {
    let (salinity, solutes) = model.at_end(theta, on_d)?;
    let value = |key: &Key| {
        Some(match key.of {
            Source::Parameter(of, step) => {
                let value = model.value(theta, of)?;
                let step = step.and_then(|step| model.value(theta, step));
                match step {
                    None => value,
                    Some(step) if key.written.logarithm => value * step,
                    Some(step) => value + step,
                }
            }
            Source::NewWater(usual) => usual + model.value(theta, Parameter::LotStep)?,
            Source::Salinity => salinity,
            Source::Solute(i) => solutes[crate::model::Id::place(i)].max(1e-9),
        })
    };
    let list: Option<Vec<f64>> =
        keys.iter().map(|key| value(key).map(|v| if key.written.logarithm { v.to_ln() } else { v })).collect();
    list.map(DVector::from_vec)
}

/// The correlations of the keys, each as it stands in a scenario; shrunk until rounding leaves them possible.
fn correlations(keys: &[Key], covariance: &DMatrix<f64>) -> Vec<String> {
    let n = keys.len();
    let of = |i: usize, j: usize| covariance[(i, j)] / (covariance[(i, i)] * covariance[(j, j)]).sqrt().max(1e-300);
    let mut shrink = 1.0;
    loop {
        // What is not worth a line is not there for whoever reads the file either.
        let rounded = |i: usize, j: usize| {
            let r = (1e5 * shrink * of(i, j)).round() / 1e5;
            if r.abs() < LEAST_CORRELATION { 0.0 } else { r }
        };
        let matrix = DMatrix::from_fn(n, n, |i, j| if i == j { 1.0 } else { rounded(i, j) });
        if matrix.cholesky().is_some() || shrink < 0.5 {
            let pairs = (0..n).flat_map(|i| (0..i).map(move |j| (i, j)));
            let told = pairs.filter(|(i, j)| rounded(*i, *j) != 0.0);
            return told
                .map(|(i, j)| format!("{} ~ {}: {}", keys[j].written.path, keys[i].written.path, rounded(i, j)))
                .collect();
        }
        shrink -= 1e-3;
    }
}
