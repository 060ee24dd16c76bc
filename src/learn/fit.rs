//! The model fitted to the keeper's own log.
//!
//! What is fitted: evaporation, tank water lost unasked (as skimmate), salinity at the start, load, removal and start
//! of every solute that was measured, the system volume and the meter's bias. Each has a prior; what must be positive
//! is fitted by its logarithm. A residual is a deviation over its standard deviation; beyond two it counts linearly
//! (Huber 1964, Ann. Math. Stat. 35:73-101), so that one wrong reading does not lead.

use nalgebra::{DMatrix, DVector};

use super::breaks::breaks;
use crate::engine::{EngineError, Nothing, Simulation};
use crate::model::{DayToDay, Id, Plan, SoluteId};
use crate::numerics::{FitError, jacobian, least_squares};
use crate::solutes::Role;

/// One row of a log; what was not noted is absent.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LogRow {
    /// Days from the first row.
    pub time_d: f64,
    /// Salinity as the meter showed it, before any change of that row \[psu\].
    pub salinity_psu: Option<f64>,
    /// Each solute of the plan, before any change \[its unit\].
    pub solutes: Vec<Option<f64>>,
    /// Top-off used since the row before \[L\].
    pub top_off_l: Option<f64>,
    /// Litres changed after the readings.
    pub change_l: Option<f64>,
    /// Dry salt put in after the readings \[kg\]: what a known mass does to the salinity tells the volume.
    pub salt_added_kg: Option<f64>,
    /// Salinity of the water put in; the scenario's new water where it is absent \[psu\].
    pub batch_psu: Option<f64>,
}

/// How good readings are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Precision {
    /// Standard deviation of a salinity \[psu\].
    pub salinity_psu: f64,
    /// Relative standard deviation of a test kit.
    pub kit: f64,
    /// How a day's evaporation varies.
    pub evaporation: DayToDay,
}

/// A quantity that is fitted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Parameter {
    /// Fresh water lost to the air \[L/d\].
    Evaporation,
    /// Tank water lost unasked \[L/d\].
    Skimmate,
    /// System volume \[L\].
    Volume,
    /// Salinity at the first row \[psu\].
    StartSalinity,
    /// What the meter shows too much \[psu\].
    Bias,
    /// A solute at the first row.
    Start(SoluteId),
    /// Its load, for each litre a day.
    Load(SoluteId),
    /// Its first-order removal \[1/d\].
    Removal(SoluteId),
    /// What is taken up of a part of the salt mix, for each litre a day; of alkalinity, with the calcium and magnesium
    /// that calcification lays down with it.
    Demand(SoluteId),
}

/// A prior: normal on the value, or on its logarithm.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Prior {
    of: Parameter,
    middle: f64,
    deviation: f64,
    logarithm: bool,
}

/// A fitted value.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    /// Of what.
    pub of: Parameter,
    /// The value.
    pub value: f64,
    /// Ends of its 90 % interval.
    pub interval: (f64, f64),
    /// Its standard deviation, relative where it is fitted by its logarithm.
    pub deviation: f64,
    /// Whether that is relative.
    pub relative: bool,
    /// Its deviation over that of the prior: near 1, the log says nothing of it.
    pub left_open: f64,
}

/// A fit.
#[derive(Clone, Debug)]
pub struct Fit {
    /// Estimates.
    pub estimates: Vec<Estimate>,
    /// Their correlations.
    pub correlation: DMatrix<f64>,
    /// Residuals of the data \[deviations\], with their time and what they are of.
    pub residuals: Vec<(f64, String, f64)>,
    /// Where the residuals of one kind leave zero for good: what, and when a cumulative sum (slack 0.5, limit 5) signals
    /// it \[d\]. A new salt lot, a new pump, another feed.
    pub breaks: Vec<(String, f64)>,
    /// Sum of squares over degrees of freedom; about 1 where the deviations are as stated.
    pub reduced: f64,
    pub(super) theta: DVector<f64>,
    covariance: DMatrix<f64>,
}

/// Why there is no fit.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LogFitError {
    /// Too little.
    #[error("the log has {0} readings and top-offs; at least 6 are needed")]
    TooFew(usize),
    /// The solver.
    #[error(transparent)]
    Fit(#[from] FitError),
    /// The plan cannot be run.
    #[error(transparent)]
    Engine(#[from] EngineError),
}

/// What a row should read: time, name, reading, prediction, standard deviation.
type Prediction = (f64, String, f64, f64, f64);

/// Residuals beyond this count linearly.
const HUBER: f64 = 2.0;
/// Factor of a 90 % interval.
const NINETY: f64 = 1.644_854;
/// How long after the readings of a row its change is done \[d\].
pub(super) const AFTER_READING_D: f64 = 1e-3;

/// What the amounts of top-off that a log notes come to in a day; nothing where it notes none.
fn usual_top_off(rows: &[LogRow]) -> Option<f64> {
    // An amount is what was used since one was last noted, or since the first row.
    let last = rows.iter().rfind(|row| row.top_off_l.is_some())?;
    let days = last.time_d - rows.first()?.time_d;
    let litres: f64 = rows.iter().skip(1).filter_map(|row| row.top_off_l).sum();
    (days > 0.0 && litres > 0.0).then(|| litres / days)
}

/// A plan, a log, and what is fitted of one to the other.
#[derive(Clone, Debug)]
pub struct LogModel<'a> {
    pub(super) base: &'a Plan,
    pub(super) rows: &'a [LogRow],
    precision: Precision,
    priors: Vec<Prior>,
    /// What the log's own amounts of top-off come to in a day \[L/d\]; the plan's where there are none. Held fixed, so that
    /// the rate that is fitted does not set the weight of its own readings.
    usual_top_off: f64,
}

impl<'a> LogModel<'a> {
    /// What of a plan can be fitted to a log. Priors are the plan's own values with wide spreads (a modelling choice):
    /// a factor of about 1.6 for flows and loads, 2 for removals, 5 % for the volume, 0.5 psu for the bias.
    #[must_use]
    pub fn new(base: &'a Plan, rows: &'a [LogRow], precision: Precision) -> Self {
        let litres = base.tank.operating.litres();
        let mut priors = Vec::new();
        let mut log =
            |of, middle: f64, deviation| priors.push(Prior { of, middle: middle.ln(), deviation, logarithm: true });
        let evaporation = base.regime.evaporation.mean();
        log(Parameter::Evaporation, if evaporation > 0.0 { evaporation } else { 0.01 * litres }, 0.5);
        let lost: f64 = base.regime.outflows.iter().map(|o| o.rate.litres_per_day()).sum();
        log(Parameter::Skimmate, if lost > 0.0 { lost } else { 3e-4 * litres }, 0.8);
        log(Parameter::Volume, litres, 0.05);
        let measured = |i: SoluteId| rows.iter().any(|r| r.solutes.get(i.place()).is_some_and(Option::is_some));
        for (i, species) in base.species.each().filter(|(i, _)| measured(*i)) {
            if species.solute.role == Role::Constituent {
                // Calcium and magnesium follow the alkalinity that is laid down with them.
                if species.calcified_per_day == 0.0 || species.solute.key == "alkalinity" {
                    let uptake = species.uptake_per_day;
                    let usual = if uptake > 0.0 { uptake / litres } else { 2e-3 * species.initial.max(1.0) };
                    log(Parameter::Demand(i), usual, 0.7);
                }
                continue;
            }
            let load = base.regime.loads[i] + base.regime.feed[i];
            log(Parameter::Load(i), if load > 0.0 { load / litres } else { 0.01 * species.initial.max(1.0) }, 0.5);
            log(
                Parameter::Removal(i),
                if species.removal.per_day() > 0.0 { species.removal.per_day() } else { 2e-3 },
                0.7,
            );
        }
        let first = rows.iter().find_map(|r| r.salinity_psu).unwrap_or(base.tank.salinity.psu());
        let mut plain = |of, middle, deviation| priors.push(Prior { of, middle, deviation, logarithm: false });
        plain(Parameter::StartSalinity, first, 1.0);
        plain(Parameter::Bias, 0.0, 0.5);
        for i in base.species.ids().filter(|i| measured(*i)) {
            let first = rows
                .iter()
                .find_map(|r| r.solutes.get(i.place()).copied().flatten())
                .unwrap_or(base.species[i].initial);
            plain(Parameter::Start(i), first, (0.5 * first).max(1e-3));
        }
        let usual_top_off = usual_top_off(rows).unwrap_or(if evaporation > 0.0 { evaporation } else { 0.01 * litres });
        Self { base, rows, precision, priors, usual_top_off }
    }

    pub(super) fn value(&self, theta: &DVector<f64>, of: Parameter) -> Option<f64> {
        let k = self.priors.iter().position(|p| p.of == of)?;
        Some(if self.priors[k].logarithm { theta[k].exp() } else { theta[k] })
    }

    /// What each row should read: time, name, reading, prediction, standard deviation.
    fn predictions(&self, theta: &DVector<f64>) -> Option<Vec<Prediction>> {
        let last = self.rows.last()?.time_d;
        let plan = self.course(theta, last + 1.0);
        let mut simulation = Simulation::new(&plan).ok()?;
        let bias = self.value(theta, Parameter::Bias).unwrap_or(0.0);
        let (mut used, mut since) = (0.0, 0.0);
        let mut list = Vec::new();
        for row in self.rows {
            simulation.run_until(row.time_d, &mut Nothing).ok()?;
            if let Some(read) = row.salinity_psu {
                let shown = simulation.salinity().psu() + bias;
                list.push((row.time_d, "salinity".to_owned(), read, shown, self.precision.salinity_psu));
            }
            let litres = simulation.volume_l();
            for ((i, species), read) in self.base.species.each().zip(&row.solutes) {
                let Some(read) = read else { continue };
                let value = simulation.amounts()[i] / litres;
                let deviation = (self.precision.kit * read.max(value)).max(1e-6);
                list.push((row.time_d, species.solute.key.to_string(), *read, value, deviation));
            }
            if let Some(read) = row.top_off_l {
                let days = row.time_d - since;
                if days > 0.0 {
                    let deviation =
                        self.usual_top_off * (self.precision.evaporation.deviation_of_sum(days) + 0.02 * days);
                    list.push((row.time_d, "top-off".to_owned(), read, simulation.tally().top_off_l - used, deviation));
                }
                (used, since) = (simulation.tally().top_off_l, row.time_d);
            }
        }
        Some(list)
    }

    fn residuals(&self, theta: &DVector<f64>) -> Option<DVector<f64>> {
        let data = self.predictions(theta)?.into_iter().map(|(_, _, read, value, deviation)| {
            let r = (read - value) / deviation;
            if r.abs() <= HUBER { r } else { r.signum() * (2.0 * HUBER * r.abs() - HUBER * HUBER).sqrt() }
        });
        let priors = self.priors.iter().zip(theta.iter()).map(|(p, t)| (t - p.middle) / p.deviation);
        Some(DVector::from_vec(data.chain(priors).collect()))
    }

    /// Fits the parameters.
    pub fn fit(&self) -> Result<Fit, LogFitError> {
        let start = DVector::from_iterator(self.priors.len(), self.priors.iter().map(|p| p.middle));
        let count = self.predictions(&start).map_or(0, |p| p.len());
        if count < 6 {
            return Err(LogFitError::TooFew(count));
        }
        let found = least_squares(&start, |theta| self.residuals(theta))?;
        let data: f64 = found.residuals.rows(0, count).norm_squared();
        let reduced = data / (count as f64 - 1.0).max(1.0);
        // A log that scatters more than stated makes everything less sure; one that scatters less, no surer.
        let covariance = found.covariance * reduced.max(1.0);
        let n = self.priors.len();
        let deviation = |k: usize| covariance[(k, k)].sqrt();
        let correlation = DMatrix::from_fn(n, n, |i, j| covariance[(i, j)] / (deviation(i) * deviation(j)));
        let estimates = self
            .priors
            .iter()
            .enumerate()
            .map(|(k, prior)| {
                let (middle, sd) = (found.parameters[k], deviation(k));
                let back = |t: f64| if prior.logarithm { t.exp() } else { t };
                Estimate {
                    of: prior.of,
                    value: back(middle),
                    interval: (back(middle - NINETY * sd), back(middle + NINETY * sd)),
                    deviation: sd,
                    relative: prior.logarithm,
                    left_open: sd / prior.deviation,
                }
            })
            .collect();
        let residuals: Vec<(f64, String, f64)> = self
            .predictions(&found.parameters)
            .unwrap_or_default()
            .into_iter()
            .map(|(t, name, read, value, sd)| (t, name, (read - value) / sd))
            .collect();
        let breaks = breaks(&residuals);
        Ok(Fit { estimates, correlation, residuals, breaks, reduced, theta: found.parameters, covariance })
    }

    /// A quantity of the tank in the days after the log, with the parameters of a fit: salinity, or a solute.
    fn later(&self, theta: &DVector<f64>, days: f64, solute: Option<SoluteId>) -> Option<f64> {
        let at = self.rows.last()?.time_d + days;
        let plan = self.course(theta, at);
        let mut simulation = Simulation::new(&plan).ok()?;
        simulation.run_until(at, &mut Nothing).ok()?;
        Some(match solute {
            None => simulation.salinity().psu() + self.value(theta, Parameter::Bias).unwrap_or(0.0),
            Some(i) => simulation.amounts()[i] / simulation.volume_l(),
        })
    }

    fn gradient(fit: &Fit, of: &dyn Fn(&DVector<f64>) -> Option<f64>) -> Option<DVector<f64>> {
        let one = |theta: &DVector<f64>| of(theta).map(|v| DVector::from_element(1, v));
        Some(jacobian(&fit.theta, 1, &one)?.row(0).transpose())
    }

    /// By what share each further measurement would narrow the variance of a wanted number of the fitted tank, the best
    /// first: `(tᵀCg)²/(σ² + gᵀCg)` over `tᵀCt`, for a measurement with gradient `g` and deviation `σ`.
    #[must_use]
    pub fn next_readings(&self, fit: &Fit, wanted: &dyn Fn(&Plan) -> Option<f64>) -> Vec<(String, f64)> {
        let Some(target) = Self::gradient(fit, &|theta| wanted(&self.tank(theta))) else { return Vec::new() };
        let variance = target.dot(&(&fit.covariance * &target));
        if !(variance.is_finite() && variance > 0.0) {
            return Vec::new();
        }
        let mut list = Vec::new();
        let mut consider = |name: String, gradient: Option<DVector<f64>>, deviation: f64| {
            let Some(g) = gradient else { return };
            let cg = &fit.covariance * &g;
            let share = target.dot(&cg).powi(2) / (deviation * deviation + g.dot(&cg)) / variance;
            if share.is_finite() {
                list.push((name, share));
            }
        };
        for days in [1.0, 14.0, 28.0] {
            let when = format!("in {days:.0} d");
            consider(
                format!("read the salinity {when}"),
                Self::gradient(fit, &|t| self.later(t, days, None)),
                self.precision.salinity_psu,
            );
            for (i, species) in self.base.species.each() {
                if !self.priors.iter().any(|p| p.of == Parameter::Load(i) || p.of == Parameter::Demand(i)) {
                    continue;
                }
                let value = self.later(&fit.theta, days, Some(i)).unwrap_or(0.0);
                consider(
                    format!("test {} {when}", species.solute.key),
                    Self::gradient(fit, &|t| self.later(t, days, Some(i))),
                    (self.precision.kit * value).max(1e-6),
                );
            }
        }
        let direct = |of: Parameter| {
            let k = self.priors.iter().position(|p| p.of == of)?;
            Some(DVector::from_fn(self.priors.len(), |i, _| f64::from(u8::from(i == k))))
        };
        // Relative errors of simple measurements (common practice, no source).
        consider("measure the skimmate of two weeks".into(), direct(Parameter::Skimmate), 0.1);
        consider("measure the volume by adding a known mass of salt".into(), direct(Parameter::Volume), 0.02);
        consider("measure the top-off of four weeks".into(), direct(Parameter::Evaporation), 0.05);
        consider("calibrate the meter with a standard".into(), direct(Parameter::Bias), 0.15);
        list.sort_by(|a, b| b.1.total_cmp(&a.1));
        list
    }

    /// Predictions for rows that were not fitted, from draws of the posterior: each with the reading, and the ends of
    /// its 90 % interval with the reading's own error.
    #[must_use]
    pub fn held_out(&self, fit: &Fit, held: &'a [LogRow], draws: &[DVector<f64>], noise: &[f64]) -> Vec<HeldOut> {
        let all: Vec<LogRow> = [self.rows, held].concat();
        let whole = LogModel { rows: &all, ..self.clone() };
        let lower = fit.covariance.clone().cholesky().map(|c| c.l());
        let Some(lower) = lower else { return Vec::new() };
        let begin = held.first().map_or(f64::INFINITY, |r| r.time_d);
        let mut columns: Vec<(f64, String, f64, Vec<f64>)> = Vec::new();
        for (k, z) in draws.iter().enumerate() {
            let theta = &fit.theta + &lower * z;
            let Some(list) = whole.predictions(&theta) else { continue };
            let later = list.into_iter().filter(|p| p.0 >= begin - 1e-9);
            for (i, (time, name, read, value, sd)) in later.enumerate() {
                if columns.len() <= i {
                    columns.push((time, name, read, Vec::new()));
                }
                let error = noise[(k * 31 + i * 7) % noise.len()];
                columns[i].3.push(value + sd * error);
            }
        }
        columns
            .into_iter()
            .map(|(time_d, name, read, mut values)| {
                values.sort_unstable_by(f64::total_cmp);
                let at = |q| crate::numerics::quantile(&values, q);
                HeldOut { time_d, name, read, interval: (at(0.05), at(0.95)), middle: at(0.5) }
            })
            .collect()
    }

    /// How many parameters are fitted.
    #[must_use]
    pub fn count(&self) -> usize {
        self.priors.len()
    }
}

/// A reading that was held out, and what was predicted for it.
#[derive(Clone, Debug, PartialEq)]
pub struct HeldOut {
    /// When \[d\].
    pub time_d: f64,
    /// Of what.
    pub name: String,
    /// The reading.
    pub read: f64,
    /// Ends of the 90 % interval.
    pub interval: (f64, f64),
    /// Median.
    pub middle: f64,
}
