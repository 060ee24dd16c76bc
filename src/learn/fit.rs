//! The model fitted to the keeper's own log.
//!
//! What is fitted: evaporation, tank water lost unasked (as skimmate), salinity at the start, load, removal and start
//! of every solute that was measured, the system volume and the meter's bias. Each has a prior; what must be positive
//! is fitted by its logarithm. A residual is a deviation over its standard deviation; beyond two it counts linearly
//! (Huber 1964, Ann. Math. Stat. 35:73-101), so that one wrong reading does not lead.

use nalgebra::{DMatrix, DVector};

use super::explanation::{Explanation, Jug, Noted};
use super::known::ReadingOf;
use super::prior::{Parameter, Prior};
use crate::engine::EngineError;
use crate::model::{DayToDay, Id, Plan, SoluteId};
use crate::numerics::{Elementary, FitError, NINETY, jacobian, least_squares_within};
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

impl Precision {
    /// Relative deviation of a test kit where none is said (common practice, no source).
    pub const USUAL_KIT: f64 = 0.15;

    /// That of a plan's meter, of a test kit with a relative deviation, and of usual weather.
    #[must_use]
    pub fn of(plan: &Plan, kit: f64) -> Self {
        let salinity_psu = plan.regime.meter.uncertainty_psu().max(LEAST_METER_PSU);
        Self { salinity_psu, kit, evaporation: DayToDay::USUAL }
    }
}

/// No meter is taken to be better than this \[psu\].
const LEAST_METER_PSU: f64 = 0.05;

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
    /// Sum of squares over degrees of freedom; about 1 where the deviations are as stated.
    pub reduced: f64,
    pub(super) theta: DVector<f64>,
    pub(super) covariance: DMatrix<f64>,
    /// The sum of squares of readings and priors: what the explanations are held against each other by.
    pub sum_of_squares: f64,
}

impl Fit {
    /// The parameters, those that are positive by their logarithms.
    #[must_use]
    pub const fn theta(&self) -> &DVector<f64> {
        &self.theta
    }
}

/// Why there is no fit.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LogFitError {
    /// Too little.
    #[error("the log has {0} readings and top-offs; at least 6 are needed")]
    TooFew(usize),
    /// Nothing at all.
    #[error("the log has no row to go by")]
    NoRows,
    /// A tank on the way that cannot be.
    #[error(
        "the tank cannot be run through this log: on the way it is empty, or its salinity is beyond 42 psu; look for a wrong row with `brinecast log`"
    )]
    NotRun,
    /// The solver.
    #[error(transparent)]
    Fit(#[from] FitError),
    /// The plan cannot be run.
    #[error(transparent)]
    Engine(#[from] EngineError),
}

/// What a row should read.
#[derive(Clone, Copy, Debug)]
pub(super) struct Prediction {
    pub(super) time_d: f64,
    pub(super) of: ReadingOf,
    pub(super) read: f64,
    pub(super) value: f64,
    pub(super) deviation: f64,
}

impl Prediction {
    /// The residual in standard deviations, counted linearly where it is large.
    fn robust(&self) -> f64 {
        let r = (self.read - self.value) / self.deviation;
        if r.abs() <= HUBER { r } else { r.signum() * (2.0 * HUBER * r.abs() - HUBER * HUBER).sqrt() }
    }
}

/// Error of an amount of top-off as it is read off, of the amount itself.
pub(super) const METERED: f64 = 0.02;
/// A fall of the sum of squares that is not worth another step: it moves no number by more than a thousandth of its deviation.
const ENOUGH: f64 = 1e-6;
/// Residuals beyond this count linearly.
const HUBER: f64 = 2.0;

/// What the amounts of top-off that a log notes come to in a day; nothing where it notes none.
fn usual_top_off(rows: &[LogRow], noted: Noted) -> Option<f64> {
    if noted == Noted::SinceTheRowBefore {
        let pairs = || rows.windows(2).filter_map(|w| Some((w[1].time_d - w[0].time_d, w[1].top_off_l?)));
        let (days, litres) = pairs().fold((0.0, 0.0), |(days, litres), (d, l)| (days + d, litres + l));
        return (days > 0.0 && litres > 0.0).then(|| litres / days);
    }
    // An amount is what was used since one was last noted, or since the first row.
    let last = rows.iter().rfind(|row| row.top_off_l.is_some())?;
    let days = last.time_d - rows.first()?.time_d;
    let litres: f64 = rows.iter().skip(1).filter_map(|row| row.top_off_l).sum();
    (days > 0.0 && litres > 0.0).then(|| litres / days)
}

/// The smallest step of a test kit, as a share of the most that it is asked for (common practice, no source).
const KIT_STEP: f64 = 0.02;

/// The least error of a test of each solute: of the edge of its band, its start or the highest reading.
fn least_errors(base: &Plan, rows: &[LogRow]) -> Vec<f64> {
    base.species
        .each()
        .map(|(i, species)| {
            let read = rows.iter().filter_map(|row| row.solutes.get(i.place()).copied().flatten());
            let edges = base.bands.iter().filter(|b| b.of == crate::model::Variable::Solute(i)).filter_map(|b| b.high);
            let most = read.chain(edges).fold(species.initial, f64::max);
            (KIT_STEP * most).max(1e-6)
        })
        .collect()
}

/// A plan, a log, and what is fitted of one to the other.
#[derive(Clone, Debug)]
pub struct LogModel<'a> {
    pub(super) base: &'a Plan,
    pub(super) rows: &'a [LogRow],
    pub(super) precision: Precision,
    pub(super) priors: Vec<Prior>,
    /// What happened besides the plan.
    pub(super) explanation: Explanation,
    /// When somebody who tops off by hand reads.
    pub(super) jug: Jug,
    /// What an amount of top-off is.
    pub(super) noted: Noted,
    /// The least error of a test of each solute \[its unit\]: a kit cannot tell less than a small part of what it is made for.
    pub(super) least_error: Vec<f64>,
    /// Priors that hang together.
    pub(super) together: Vec<(Parameter, Parameter, f64)>,
    /// Whether rows were put together, so that amounts of top-off are what was used since one was last noted.
    pub(super) thinned: bool,
    /// Where the search for the parameters begins; at the middles of their priors where it is not said.
    pub(super) start: Option<DVector<f64>>,
    /// What the log's own amounts of top-off come to in a day \[L/d\]; the plan's where there are none. Held fixed, so that
    /// the rate that is fitted does not set the weight of its own readings.
    pub(super) usual_top_off: f64,
}

impl<'a> LogModel<'a> {
    /// What of a plan can be fitted to a log. Priors are the plan's own values with wide spreads (a modelling choice):
    /// a factor of about 1.6 for flows and loads, 2 for removals, 5 % for the volume, 0.5 psu for the bias.
    #[must_use]
    pub fn new(base: &'a Plan, rows: &'a [LogRow], precision: Precision) -> Self {
        let litres = base.tank.operating.litres();
        let mut priors = Vec::new();
        let mut log =
            |of, middle: f64, deviation| priors.push(Prior { of, middle: middle.to_ln(), deviation, logarithm: true });
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
        let usual_top_off = usual_top_off(rows, Noted::default()).unwrap_or(if evaporation > 0.0 {
            evaporation
        } else {
            0.01 * litres
        });
        Self {
            base,
            rows,
            precision,
            priors,
            explanation: Explanation::Plain,
            jug: Jug::default(),
            noted: Noted::default(),
            least_error: least_errors(base, rows),
            together: Vec::new(),
            thinned: false,
            start: None,
            usual_top_off,
        }
    }

    /// The value of a parameter, where it is fitted.
    #[must_use]
    pub fn value(&self, theta: &DVector<f64>, of: Parameter) -> Option<f64> {
        let k = self.priors.iter().position(|p| p.of == of)?;
        Some(if self.priors[k].logarithm { theta[k].to_exp() } else { theta[k] })
    }

    /// The same with something that happened besides the plan, each with a prior of its own: 1.5 psu for the salt, 1 psu for
    /// the meter, a factor of about 1.6 for evaporation and loads, a swing of 30 % (a modelling choice).
    #[must_use]
    pub fn explained_by(&self, explanation: Explanation) -> Self {
        let mut model = Self { explanation, ..self.clone() };
        let mut add = |of, deviation, logarithm| model.priors.push(Prior { of, middle: 0.0, deviation, logarithm });
        match explanation {
            Explanation::Plain => {}
            Explanation::Lot(_) => add(Parameter::LotStep, 1.5, false),
            Explanation::MeterStep(_) => add(Parameter::MeterStep, 1.0, false),
            Explanation::EvaporationStep(_) => add(Parameter::EvaporationStep, 0.5, true),
            Explanation::LoadStep(of, _) => add(Parameter::LoadStep(of), 0.5, true),
            Explanation::Season => {
                add(Parameter::SeasonCosine, 0.3, false);
                add(Parameter::SeasonSine, 0.3, false);
            }
        }
        model
    }

    /// What happened besides the plan.
    #[must_use]
    pub const fn explanation(&self) -> Explanation {
        self.explanation
    }

    /// The same with amounts of top-off that are another thing.
    #[must_use]
    pub fn with_noted(&self, noted: Noted) -> Self {
        let usual_top_off = usual_top_off(self.rows, noted).unwrap_or(self.usual_top_off);
        Self { noted, usual_top_off, ..self.clone() }
    }

    /// The same for rows of which several were put together.
    #[must_use]
    pub fn of_thinned_rows(&self, thinned: bool) -> Self {
        Self { thinned, ..self.clone() }
    }

    /// The same, with the search begun at the parameters of another fit, which saves steps.
    #[must_use]
    pub fn beginning_at(&self, other: &Fit) -> Self {
        let start = Some(other.theta.clone()).filter(|theta| theta.len() == self.priors.len());
        Self { start, ..self.clone() }
    }

    /// What an amount of top-off is taken to be.
    #[must_use]
    pub const fn noted(&self) -> Noted {
        self.noted
    }

    /// The same with evaporation that varies so many times more from day to day.
    #[must_use]
    pub fn with_weather(&self, times: f64) -> Self {
        let mut model = self.clone();
        model.precision.evaporation.cv *= times;
        model
    }

    /// How evaporation varies from day to day, as it is taken here.
    #[must_use]
    pub const fn weather(&self) -> DayToDay {
        self.precision.evaporation
    }

    /// When its last row is \[d\].
    #[must_use]
    pub fn last_d(&self) -> f64 {
        self.rows.last().map_or(0.0, |row| row.time_d)
    }

    /// When water was last changed \[d\]; nothing where the log does not say.
    #[must_use]
    pub fn last_change_d(&self) -> Option<f64> {
        self.rows.iter().rfind(|row| row.change_l.is_some_and(|l| l > 0.0)).map(|row| row.time_d)
    }

    /// True salinity \[psu\] and concentrations some days after the last row.
    #[must_use]
    pub fn at_end(&self, theta: &DVector<f64>, days_on: f64) -> Option<(f64, Vec<f64>)> {
        self.walk(theta, days_on).map(|(_, end)| (end.salinity_psu, end.solutes))
    }

    /// Mean and covariance of numbers that follow from the parameters, by their derivatives.
    #[must_use]
    pub fn joint(
        &self,
        fit: &Fit,
        of: &(dyn Fn(&DVector<f64>) -> Option<DVector<f64>> + Sync),
    ) -> Option<(DVector<f64>, DMatrix<f64>)> {
        let mean = of(&fit.theta)?;
        let slopes = jacobian(&fit.theta, mean.len(), &of)?;
        let covariance = &slopes * &fit.covariance * slopes.transpose();
        Some((mean, covariance))
    }

    /// The same with readings before or after the jug.
    #[must_use]
    pub fn read(&self, jug: Jug) -> Self {
        Self { jug, ..self.clone() }
    }

    /// When somebody who tops off by hand is taken to read.
    #[must_use]
    pub const fn jug(&self) -> Jug {
        self.jug
    }

    /// Standard deviation of a test that reads so much where so much was expected.
    pub(super) fn error_of_test(&self, i: SoluteId, read: f64, expected: f64) -> f64 {
        let least = self.least_error.get(i.place()).copied().unwrap_or(1e-6);
        (self.precision.kit * read.max(expected)).max(least)
    }

    /// The name of what a reading is of.
    pub(super) fn name(&self, of: ReadingOf) -> String {
        match of {
            ReadingOf::Salinity => "salinity".into(),
            ReadingOf::Solute(i) => self.base.species[i].solute.key.to_string(),
            ReadingOf::TopOff => "top-off".into(),
        }
    }

    /// Whether a parameter is fitted.
    pub(super) fn fits(&self, of: Parameter) -> bool {
        self.priors.iter().any(|p| p.of == of)
    }

    pub(super) fn residuals(&self, theta: &DVector<f64>) -> Option<DVector<f64>> {
        let (predictions, _) = self.walk(theta, 0.0)?;
        let data = predictions.iter().map(Prediction::robust);
        let priors = self.priors.iter().zip(theta.iter()).map(|(p, t)| (t - p.middle) / p.deviation);
        Some(DVector::from_vec(data.chain(priors).collect()))
    }

    /// Fits the parameters.
    pub fn fit(&self) -> Result<Fit, LogFitError> {
        let middles = || DVector::from_iterator(self.priors.len(), self.priors.iter().map(|p| p.middle));
        self.fit_at(&self.start.clone().unwrap_or_else(middles))
    }

    /// Fits them from the values of a fit with fewer parameters.
    pub(super) fn fit_from(&self, other: &Fit) -> Result<Fit, LogFitError> {
        let middles = self.priors.iter().map(|p| p.middle);
        let start = other.theta.iter().copied().chain(middles.skip(other.theta.len()));
        self.fit_at(&DVector::from_iterator(self.priors.len(), start))
    }

    fn fit_at(&self, start: &DVector<f64>) -> Result<Fit, LogFitError> {
        let count = self.walk(start, 0.0).map_or(0, |(p, _)| p.len());
        if count < 6 {
            return Err(LogFitError::TooFew(count));
        }
        let found = least_squares_within(start, ENOUGH, |theta| self.residuals(theta))?;
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
                let back = |t: f64| if prior.logarithm { t.to_exp() } else { t };
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
        let predictions = self.walk(&found.parameters, 0.0).map(|(list, _)| list).unwrap_or_default();
        let residuals: Vec<(f64, String, f64)> =
            predictions.iter().map(|p| (p.time_d, self.name(p.of), (p.read - p.value) / p.deviation)).collect();
        let sum_of_squares = found.sum_of_squares;
        Ok(Fit { estimates, correlation, residuals, reduced, theta: found.parameters, covariance, sum_of_squares })
    }

    /// How many parameters are fitted.
    #[must_use]
    pub fn count(&self) -> usize {
        self.priors.len()
    }
}
