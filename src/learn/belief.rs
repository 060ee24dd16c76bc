//! What is believed of the tank as its log goes on: what is in it and how it works, moved from row to row by the engine and put
//! right by every reading.
//!
//! The state is the water, the salt and the solutes of the tank, the top-off used since it was last noted, and the parameters
//! of a fit (but for what it began with). A stretch of the log is run by the engine from the mean, and from it displaced in each
//! direction, which gives the derivatives of a Kalman filter; the whole log is gone through again with the parameters that it led
//! to, until they rest (an iterated extended filter; Jazwinski 1970, Stochastic Processes and Filtering Theory, section 8.3).
//! Besides what a fit knows, the tank wanders: batches miss their salinity, loads and losses change with the months (a
//! modelling choice, [`Wander`]), so that an old reading counts for less than a new one.

use crate::numerics::Elementary;
use nalgebra::{DMatrix, DVector};

use super::explanation::{Explanation, Jug};
use super::filter::Filter;
use super::fit::{LogFitError, LogModel};
use super::known::{Known, Wander};
use super::prior::Parameter;
use crate::engine::Simulation;
use crate::model::{Amounts, Plan};

/// Most times that the log is gone through.
const MOST_PASSES: usize = 8;
/// Share of a prior's deviation within which parameters rest.
const REST: f64 = 0.02;
/// Share of a prior's deviation by which parameters move from one pass to the next at most.
const STRIDE: f64 = 1.5;
/// A day before all others \[d\].
const BEFORE_ALL_D: f64 = -1.0;
/// Salinity of new water that is believed at most \[psu\]: what errs besides stays within the equation of state.
const STRONGEST_PSU: f64 = 40.0;
/// By how much new water is off from what it is named \[psu\].
const MIXING_PSU: f64 = 0.3;

impl<'a> LogModel<'a> {
    /// What is believed of the tank at a time not before the last row; of a tank topped off by hand by the way of reading that does
    /// better, unless `jug` says which.
    ///
    /// # Errors
    ///
    /// Where the log has too few readings, or the plan cannot be run.
    pub fn known(&self, wander: Wander, until_d: f64, jug: Option<Jug>) -> Result<Known, LogFitError> {
        let ways = match jug {
            Some(jug) => vec![jug],
            None if self.base.regime.top_off.by_hand().is_some() => vec![Jug::ReadBefore, Jug::ReadAfter],
            None => vec![self.jug],
        };
        let mut best: Option<Known> = None;
        for way in ways {
            let known = self.with_mixing_off().read(way).rested(wander, until_d)?;
            if best.as_ref().is_none_or(|other| known.likelihood > other.likelihood) {
                best = Some(known);
            }
        }
        best.ok_or(LogFitError::NotRun)
    }

    /// The same where the new water may be saltier or weaker than it is named.
    #[must_use]
    pub fn with_mixing_off(&self) -> Self {
        if self.fits(Parameter::LotStep) {
            return self.clone();
        }
        let mut model = self.explained_by(Explanation::Lot(BEFORE_ALL_D));
        for prior in model.priors.iter_mut().filter(|p| p.of == Parameter::LotStep) {
            prior.deviation = MIXING_PSU;
        }
        model
    }

    /// The same with another plan: that of the time from the log on.
    #[must_use]
    pub fn based_on(&self, base: &'a Plan) -> Self {
        Self { base, ..self.clone() }
    }

    /// The places of the parameters that are not how the tank began.
    pub(super) fn beside_the_start(&self) -> Vec<usize> {
        let began = |k: &usize| matches!(self.priors[*k].of, Parameter::StartSalinity | Parameter::Start(_));
        (0..self.priors.len()).filter(|k| !began(k)).collect()
    }

    /// All parameters: those beside the start as given, the others at the middles of their priors.
    pub(super) fn theta_of<'v>(&self, beside: impl IntoIterator<Item = &'v f64>) -> DVector<f64> {
        let mut theta = DVector::from_iterator(self.priors.len(), self.priors.iter().map(|p| p.middle));
        self.beside_the_start().into_iter().zip(beside).for_each(|(k, value)| theta[k] = *value);
        theta
    }

    /// The same with parameters at rest.
    fn rested(&self, wander: Wander, until_d: f64) -> Result<Known, LogFitError> {
        let parameters = self.beside_the_start();
        let middle = |k: usize| self.start.as_ref().map_or(self.priors[k].middle, |s| s[k]);
        let mut at = DVector::from_iterator(parameters.len(), parameters.iter().map(|k| middle(*k)));
        if self.rows.is_empty() {
            return Err(LogFitError::NoRows);
        }
        let mut passes = 0;
        loop {
            passes += 1;
            let filter = Filter::new(self, wander, at.clone()).ok_or(LogFitError::NotRun)?;
            let mut known = filter.pass(until_d).ok_or(LogFitError::NotRun)?;
            let led_to = known.belief.mean.rows(filter.amounts + 1, parameters.len()).into_owned();
            let sizes = parameters.iter().map(|k| self.priors[*k].deviation);
            let moves: Vec<f64> =
                led_to.iter().zip(at.iter()).zip(sizes).map(|((new, old), sd)| (new - old) / sd).collect();
            known.at_rest = moves.iter().all(|m| m.abs() < REST);
            if passes == MOST_PASSES || known.at_rest {
                return Ok(known);
            }
            for (k, by) in moves.iter().enumerate() {
                at[k] += by.clamp(-STRIDE, STRIDE) * self.priors[parameters[k]].deviation;
            }
        }
    }

    /// The tank of a state as `belief` holds it: how it works and what is in it. `self` is of the time from then on.
    #[must_use]
    pub fn tank_of(&self, state: &DVector<f64>) -> Option<Plan> {
        let amounts = 2 + self.base.species.iter().count();
        let theta = self.theta_of(state.iter().skip(amounts + 1));
        let mut plan = self.tank(&theta);
        // However far off a batch may have been, nobody mixes beyond this.
        for water in plan.waters.iter_mut().filter(|water| water.salinity.psu() > STRONGEST_PSU) {
            water.salinity = crate::units::PracticalSalinity::from_psu(STRONGEST_PSU);
        }
        // A system that holds more by so much holds as much more at its other levels.
        let larger = plan.tank.operating / self.base.tank.operating;
        for level in [&mut plan.tank.rim, &mut plan.tank.starve].into_iter().flatten() {
            *level = *level * larger;
        }
        let held = Amounts::from(state.rows(0, amounts).iter().map(|a| a.max(0.0)).collect::<Vec<_>>());
        let tank = Simulation::at(&plan, 0.0, held, f64::INFINITY).ok()?;
        let (salinity, litres) = (tank.salinity(), tank.volume_l());
        let solutes: Vec<f64> = tank.amounts().solutes().iter().map(|a| a / litres).collect();
        plan.tank.salinity = salinity;
        plan.tank.volume = crate::units::Volume::from_litres(litres);
        for (species, solute) in plan.species.iter_mut().zip(solutes) {
            species.initial = solute;
        }
        Some(plan)
    }
}

impl LogModel<'_> {
    /// The covariance of the priors.
    pub(super) fn prior_covariance(&self) -> DMatrix<f64> {
        let place = |of: Parameter| self.priors.iter().position(|p| p.of == of);
        let n = self.priors.len();
        let mut together = DMatrix::identity(n, n);
        for (one, other, r) in &self.together {
            if let (Some(i), Some(j)) = (place(*one), place(*other)) {
                (together[(i, j)], together[(j, i)]) = (*r, *r);
            }
        }
        DMatrix::from_fn(n, n, |i, j| together[(i, j)] * self.priors[i].deviation * self.priors[j].deviation)
    }

    /// The same with another prior of a parameter: its middle, where that is another, and its deviation (of the logarithm, where it
    /// is fitted by that); a parameter that is not fitted stays so.
    #[must_use]
    pub fn believing(&self, of: Parameter, value: Option<f64>, deviation: f64) -> Self {
        let mut model = self.clone();
        if let Some(prior) = model.priors.iter_mut().find(|p| p.of == of) {
            if let Some(value) = value {
                prior.middle = if prior.logarithm { value.max(1e-12).to_ln() } else { value };
            }
            prior.deviation = deviation.max(1e-6);
        }
        model
    }

    /// The parameters that are fitted.
    pub fn parameters(&self) -> impl Iterator<Item = Parameter> {
        self.priors.iter().map(|p| p.of)
    }

    /// The same with priors that hang together: pairs of parameters and their correlations.
    #[must_use]
    pub fn together(&self, pairs: Vec<(Parameter, Parameter, f64)>) -> Self {
        Self { together: pairs, ..self.clone() }
    }

    /// Whether a parameter is fitted by its logarithm.
    #[must_use]
    pub fn by_logarithm(&self, of: Parameter) -> bool {
        self.priors.iter().any(|p| p.of == of && p.logarithm)
    }
}
