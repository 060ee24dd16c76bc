//! Explanations of a log held against each other: each is fitted anew, and weighed by how much better it does for what it
//! asks more.
//!
//! # Equation
//! ```text
//! BIC = χ² + p ln n,   weight ∝ exp(−BIC/2)
//! ```
//! with `χ²` the sum of squared deviations (linear beyond two) of readings and priors, `n` readings, and `p` what is fitted
//! beyond the plan: a size, a day that was looked for, and the kind among several. The day of a step is looked for among the times of
//! readings by what one Gauss-Newton step would gain (a score test); the best of each kind is then fitted.
//!
//! # Source
//! Schwarz 1978, Ann. Stat. 6:461-464; weights as in Kass & Raftery 1995, J. Am. Stat. Assoc. 90:773-795.

use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

use super::explanation::{Explanation, Jug, Noted};
use super::fit::{Fit, LogFitError, LogModel, METERED};
use super::prior::Parameter;
use crate::model::Evaporation;
use crate::numerics::{Elementary, jacobian};

/// An explanation with its fit.
#[derive(Clone, Debug)]
pub struct Explained<'a> {
    /// What is said to have happened.
    pub explanation: Explanation,
    /// The model that was fitted.
    pub model: LogModel<'a>,
    /// Its fit.
    pub fit: Fit,
    /// Its weight among all that were tried.
    pub weight: f64,
    /// Days between which it may have begun (90 %).
    pub between_d: Option<(f64, f64)>,
}

/// What an explanation asks more than the plan: a size, a day that was looked for, and its kind among several.
const ASKED: f64 = 3.0;
/// Days that are tried for a step, at most.
const MOST_DAYS: usize = 40;
/// Readings that must lie on either side of a step, so that it is not one bad reading.
const ON_EITHER_SIDE: usize = 3;
/// Shortest log that may show a season \[d\].
const SEASON_D: f64 = 150.0;
/// Fall of χ² within which a day is as good as the best, at 90 %.
const NINETY: f64 = 2.706;
/// What top-off is called in residuals.
const TOP_OFF: &str = "top-off";
/// Days between amounts of top-off below which weather that lasts makes neighbours alike.
const WEATHER_LASTS_D: f64 = 6.5;
/// Size of a step at which its effect is looked at.
const SMALL: f64 = 1e-4;

/// Fits the plain plan and every explanation, the most likely first. Of a tank topped off by hand both ways of reading are
/// tried, unless `jug` says which.
pub fn explain<'a>(model: &LogModel<'a>, jug: Option<Jug>) -> Result<Vec<Explained<'a>>, LogFitError> {
    let (plain, fit) = plain(model, jug)?;
    let readings = fit.residuals.len() as f64;
    let times = times_of_steps(&plain);
    let span = plain.rows.last().map_or(0.0, |row| row.time_d);
    let mut kinds = Vec::new();
    if let Some(first) = times.first().copied() {
        kinds.extend([Explanation::Lot(first), Explanation::MeterStep(first), Explanation::EvaporationStep(first)]);
        let loads = plain.base.species.ids().filter(|i| plain.fits(Parameter::Load(*i)));
        kinds.extend(loads.map(|i| Explanation::LoadStep(i, first)));
    }
    if span >= SEASON_D && matches!(plain.base.regime.evaporation, Evaporation::Constant(_)) {
        kinds.push(Explanation::Season);
    }
    let scan = Scan::new(&plain, &fit);
    let mut all = vec![(Explanation::Plain, plain.clone(), fit.clone(), None)];
    for kind in kinds {
        let (explanation, between_d) = if kind.day().is_some() {
            let Some((day, between)) = scan.as_ref().and_then(|scan| scan.best_day(kind, &times)) else { continue };
            (kind.from_day(day), Some(between))
        } else {
            (kind, None)
        };
        let model = plain.explained_by(explanation);
        // An explanation that cannot be fitted explains nothing.
        if let Ok(fit) = model.fit_from(&fit) {
            all.push((explanation, model, fit, between_d));
        }
    }
    let bic = |explanation: Explanation, fit: &Fit| {
        let more = if explanation == Explanation::Plain { 0.0 } else { ASKED };
        fit.sum_of_squares + more * readings.to_ln()
    };
    let least = all.iter().map(|(e, _, fit, _)| bic(*e, fit)).fold(f64::INFINITY, f64::min);
    let mut list: Vec<Explained<'a>> = all
        .into_iter()
        .map(|(explanation, model, fit, between_d)| {
            let weight = (-0.5 * (bic(explanation, &fit) - least)).to_exp();
            Explained { explanation, model, fit, weight, between_d }
        })
        .collect();
    let sum: f64 = list.iter().map(|e| e.weight).sum();
    for e in &mut list {
        e.weight /= sum;
    }
    list.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    Ok(list)
}

/// Top-off that scatters more than so many times what was expected has its weight taken back.
const SCATTERS: f64 = 1.3;

/// How far the top-off of a fit scatters, in the deviations that each amount by itself should have; nothing where little was
/// noted.
fn scatter_of_top_off(model: &LogModel<'_>, fit: &Fit) -> Option<f64> {
    let noted: Vec<(f64, f64)> =
        fit.residuals.iter().filter(|(_, name, _)| name == TOP_OFF).map(|(t, _, z)| (*t, *z)).collect();
    let weather = model.weather();
    // The weight of an amount is that of one of many in a row.
    let alone = noted.windows(2).map(|w| {
        let days = w[1].0 - w[0].0;
        let own = weather.deviation_of_days(days) + METERED * days;
        w[1].1 * (weather.deviation_of_sum(days) + METERED * days) / own
    });
    let (n, squares) = alone.fold((0.0, 0.0), |(n, squares), z| (n + 1.0, squares + z * z));
    (n >= 7.0).then(|| f64::sqrt(squares / (n - 1.0)))
}

/// The plain fit; where the top-off scatters more than expected, with weather that varies as much as it shows.
fn plain<'a>(model: &LogModel<'a>, jug: Option<Jug>) -> Result<(LogModel<'a>, Fit), LogFitError> {
    let (model, fit) = as_kept(model, jug)?;
    match scatter_of_top_off(&model, &fit).filter(|by| *by > SCATTERS) {
        None => Ok((model, fit)),
        Some(by) => {
            let model = model.with_weather(by);
            let fit = model.fit()?;
            Ok((model, fit))
        }
    }
}

/// The plain fit of a log as it was kept: readings before or after the jug, amounts of top-off since one was last noted or
/// since the row before, whichever does better.
fn as_kept<'a>(model: &LogModel<'a>, jug: Option<Jug>) -> Result<(LogModel<'a>, Fit), LogFitError> {
    let by_hand = model.base.regime.top_off.by_hand().is_some();
    let ways = match jug {
        Some(jug) => vec![jug],
        None if by_hand => vec![Jug::ReadBefore, Jug::ReadAfter],
        None => vec![Jug::default()],
    };
    let mut best: Option<(LogModel<'a>, Fit)> = None;
    let gaps = !model.thinned
        && model.rows.iter().skip(1).any(|row| row.top_off_l.is_none())
        && model.rows.iter().any(|row| row.top_off_l.is_some())
        && !by_hand;
    let noted = if gaps { &[Noted::SinceLastNoted, Noted::SinceTheRowBefore][..] } else { &[Noted::SinceLastNoted] };
    for (way, noted) in ways.into_iter().flat_map(|way| noted.iter().map(move |noted| (way, *noted))) {
        let model = model.read(way).with_noted(noted);
        let fit = model.fit()?;
        if best.as_ref().is_none_or(|(_, other)| fit.sum_of_squares < other.sum_of_squares) {
            best = Some((model, fit));
        }
    }
    best.ok_or(LogFitError::TooFew(0))
}

/// Times at which a step may begin: those of rows with readings, a few from either end left out.
fn times_of_steps(model: &LogModel<'_>) -> Vec<f64> {
    let read = |row: &&super::LogRow| {
        row.salinity_psu.is_some() || row.top_off_l.is_some() || row.solutes.iter().any(Option::is_some)
    };
    let times: Vec<f64> = model.rows.iter().filter(read).map(|row| row.time_d).collect();
    let inner = times.get(ON_EITHER_SIDE..times.len().saturating_sub(ON_EITHER_SIDE - 1)).unwrap_or_default();
    let every = inner.len().div_ceil(MOST_DAYS).max(1);
    inner.iter().step_by(every).copied().collect()
}

/// What is needed to look for the day of a step.
struct Scan<'m, 'a> {
    plain: &'m LogModel<'a>,
    theta: DVector<f64>,
    residuals: DVector<f64>,
    jacobian: DMatrix<f64>,
    normal: DMatrix<f64>,
}

impl<'m, 'a> Scan<'m, 'a> {
    fn new(plain: &'m LogModel<'a>, fit: &Fit) -> Option<Self> {
        let residuals = plain.residuals(&fit.theta)?;
        let jacobian = jacobian(&fit.theta, residuals.len(), &|theta| plain.residuals(theta))?;
        let normal = jacobian.tr_mul(&jacobian).try_inverse()?;
        Some(Self { plain, theta: fit.theta.clone(), residuals, jacobian, normal })
    }

    /// The day on which a step of a kind gains most, and the days that are as good.
    fn best_day(&self, kind: Explanation, days: &[f64]) -> Option<(f64, (f64, f64))> {
        let gains: Vec<(f64, f64)> =
            days.par_iter().filter_map(|day| Some((*day, self.gain(kind.from_day(*day))?))).collect();
        let best = gains.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1))?;
        let near = || gains.iter().filter(|(_, gain)| *gain >= best.1 - NINETY).map(|(day, _)| *day);
        Some((best.0, (near().fold(best.0, f64::min), near().fold(best.0, f64::max))))
    }

    /// By how much the sum of squares would fall.
    fn gain(&self, explanation: Explanation) -> Option<f64> {
        let model = self.plain.explained_by(explanation);
        let theta = self.theta.clone().push(SMALL);
        let moved = model.residuals(&theta)?;
        // The last residual is that of the step's own prior.
        let n = self.residuals.len();
        let column = (moved.rows(0, n) - &self.residuals) / SMALL;
        let prior = moved[n] / SMALL;
        let own = &column - &self.jacobian * (&self.normal * self.jacobian.tr_mul(&column));
        let curvature = own.norm_squared() + prior * prior;
        (curvature > 0.0).then(|| own.dot(&self.residuals).powi(2) / curvature)
    }
}

/// How far what is left of a fit hangs together from one reading to the next, for the kind that does most: the name, and the
/// correlation of neighbours in standard deviations of chance.
#[must_use]
pub fn hangs_together(fit: &Fit) -> Option<(String, f64)> {
    let mut names: Vec<&String> = fit.residuals.iter().map(|(_, name, _)| name).collect();
    names.sort();
    names.dedup();
    let of = |name: &String| {
        let times: Vec<f64> = fit.residuals.iter().filter(|(_, n, _)| n == name).map(|(t, ..)| *t).collect();
        let span = times.last()? - times.first()?;
        if name == TOP_OFF && span / times.len() as f64 <= WEATHER_LASTS_D {
            return None;
        }
        let z: Vec<f64> =
            fit.residuals.iter().filter(|(_, n, _)| n == name).map(|(.., z)| z.clamp(-3.0, 3.0)).collect();
        let n = z.len() as f64;
        let square: f64 = z.iter().map(|z| z * z).sum();
        let product: f64 = z.windows(2).map(|w| w[0] * w[1]).sum();
        (z.len() >= 8 && square > 0.0).then(|| (name.clone(), product / square * n.sqrt()))
    };
    names.into_iter().filter_map(of).max_by(|a, b| a.1.total_cmp(&b.1))
}
