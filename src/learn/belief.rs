//! What is believed of the tank as its log goes on: what is in it and how it works, moved from row to row by the engine and put
//! right by every reading.
//!
//! The state is the water, the salt and the solutes of the tank, the top-off used since it was last noted, and the parameters
//! of a fit (but for what it began with). A stretch of the log is run by the engine from the mean, and from it displaced in each
//! direction, which gives the derivatives of a Kalman filter; the whole log is gone through again with the parameters that it led
//! to, until they rest (an iterated extended filter; Jazwinski 1970, Stochastic Processes and Filtering Theory, section 8.3).
//! Besides what a fit knows, the tank wanders: batches miss their salinity, loads and losses change with the months (a
//! modelling choice, [`Wander`]), so that an old reading counts for less than a new one.

use nalgebra::{DMatrix, DVector};

use super::explanation::{Explanation, Jug, Noted};
use super::fit::{LogFitError, LogModel, LogRow, METERED, Parameter};
use crate::engine::{Nothing, Simulation};
use crate::learn::course::AFTER_READING_D;
use crate::model::limits::LARGEST_SHARE;
use crate::model::{Amounts, Id, Plan, SoluteId};
use crate::numerics::Belief;

/// How a tank wanders from what the plan says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wander {
    /// Standard deviation of a batch's salinity \[psu\].
    pub batch_psu: f64,
    /// By what share a rate (evaporation, loss, load, removal) wanders in a month.
    pub rates: f64,
    /// By how much the bias of the meter wanders in a month \[psu\].
    pub meter_psu: f64,
    /// By what share a day's load differs from the next.
    pub load: f64,
}

impl Wander {
    /// Where nothing is known of it: batches 0.3 psu, rates 10 %, the meter 0.05 psu a month, loads 20 % from day to day (common
    /// practice, no source).
    pub const USUAL: Self = Self { batch_psu: 0.3, rates: 0.1, meter_psu: 0.05, load: 0.2 };
}

/// What a reading is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReadingOf {
    /// Salinity.
    Salinity,
    /// A solute.
    Solute(SoluteId),
    /// Top-off since it was last noted.
    TopOff,
}

/// What became of a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// It fits.
    Fits,
    /// It stands by itself: taken for a wrong reading, and believed in part only.
    ByItself,
    /// The next of its kind stands by it: something changed, and the belief follows.
    Changed,
    /// It is the last of its kind: nothing can be told yet.
    Open,
}

/// A reading with what was expected of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken {
    /// When \[d\].
    pub time_d: f64,
    /// Of what.
    pub of: ReadingOf,
    /// The reading.
    pub read: f64,
    /// What was expected.
    pub expected: f64,
    /// Standard deviation of what was expected, with the reading's own error.
    pub deviation: f64,
    /// Standard deviation of the truth before the reading, and after it.
    pub known: (f64, f64),
    /// What became of it.
    pub verdict: Verdict,
}

impl Taken {
    /// Logarithm of how likely it was.
    fn likelihood(&self) -> f64 {
        let z = ((self.read - self.expected) / self.deviation).clamp(-MISFIT, MISFIT);
        -self.deviation.ln() - 0.5 * z * z
    }
}

/// What was believed of a quantity at a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Believed {
    /// When \[d\].
    pub time_d: f64,
    /// The mean.
    pub mean: f64,
    /// Its standard deviation.
    pub deviation: f64,
}

/// A log gone through.
#[derive(Clone, Debug)]
pub struct Known {
    /// What is believed at the end: water kg, salt kg, solutes, top-off since noted, then parameters.
    pub belief: Belief,
    /// Salinity \[psu\] and the solutes at the end: mean and covariance.
    pub quantities: Belief,
    /// Salinity, then the solutes, at every row of the log.
    pub course: Vec<Vec<Believed>>,
    /// The readings, in their order.
    pub readings: Vec<Taken>,
    /// Logarithm of how likely the readings were, each as it came; one that does not fit counts as one that just does.
    pub likelihood: f64,
    /// How often the log was gone through.
    pub passes: usize,
}

/// Deviations beyond which a reading does not fit.
const MISFIT: f64 = 3.0;
/// Deviations beyond which two readings in a row, off to the same side, do not fit together: one pair in a thousand by chance.
const TWICE: f64 = 2.0;
/// Deviations to which a reading that does not fit is believed.
const BELIEVED: f64 = 2.0;
/// Share of an amount, and of a parameter, by which derivatives are taken.
const STEP: f64 = 1e-4;
/// Most times that the log is gone through.
const MOST_PASSES: usize = 8;
/// Share of a prior's deviation within which parameters rest.
const REST: f64 = 0.02;
/// Share of a prior's deviation by which parameters move from one pass to the next at most.
const STRIDE: f64 = 1.5;
/// A day before all others \[d\].
const BEFORE_ALL_D: f64 = -1.0;
/// By how much new water is off from what it is named \[psu\].
const MIXING_PSU: f64 = 0.3;
/// Deviations that are added where something changed: of the strength of new water \[psu\], and of the logarithm of a rate.
const CHANGED: (f64, f64) = (1.5, 0.5);
/// Days of a month.
const MONTH_D: f64 = 30.0;

/// What the state is, and where each part of it stands.
struct Filter<'m, 'a> {
    model: &'m LogModel<'a>,
    wander: Wander,
    /// Water, salt, solutes.
    amounts: usize,
    /// Places of the parameters among the priors.
    parameters: Vec<usize>,
    /// The parameters at which derivatives are taken, and the plans with them: as they are, and with each displaced.
    at: DVector<f64>,
    plan: Plan,
    batches: Vec<(super::course::Batch, usize)>,
    displaced: Vec<Option<Plan>>,
}

impl LogModel<'_> {
    /// What is believed of the tank at a time not before the last row.
    ///
    /// # Errors
    ///
    /// Where the log has too few readings, or the plan cannot be run.
    pub fn known(&self, wander: Wander, until_d: f64) -> Result<Known, LogFitError> {
        let ways = if self.base.regime.top_off.by_hand().is_some() {
            vec![Jug::ReadBefore, Jug::ReadAfter]
        } else {
            vec![self.jug]
        };
        let mut best: Option<Known> = None;
        for way in ways {
            let known = self.with_mixing_off().read(way).rested(wander, until_d)?;
            if best.as_ref().is_none_or(|other| known.likelihood > other.likelihood) {
                best = Some(known);
            }
        }
        best.ok_or(LogFitError::TooFew(0))
    }

    /// The same where the new water may be saltier or weaker than it is named.
    #[must_use]
    pub fn with_mixing_off(&self) -> Self {
        let mut model = self.explained_by(Explanation::Lot(BEFORE_ALL_D));
        for prior in model.priors.iter_mut().filter(|p| p.of == Parameter::LotStep) {
            prior.deviation = MIXING_PSU;
        }
        model
    }

    /// The same with parameters at rest.
    fn rested(&self, wander: Wander, until_d: f64) -> Result<Known, LogFitError> {
        let parameters: Vec<usize> = (0..self.priors.len())
            .filter(|k| !matches!(self.priors[*k].of, Parameter::StartSalinity | Parameter::Start(_)))
            .collect();
        let middle = |k: usize| self.start.as_ref().map_or(self.priors[k].middle, |s| s[k]);
        let mut at = DVector::from_iterator(parameters.len(), parameters.iter().map(|k| middle(*k)));
        let mut passes = 0;
        loop {
            passes += 1;
            let filter = Filter::new(self, wander, &parameters, at.clone()).ok_or(LogFitError::TooFew(0))?;
            let mut known = filter.pass(until_d).ok_or(LogFitError::TooFew(0))?;
            let led_to = known.belief.mean.rows(filter.amounts + 1, parameters.len()).into_owned();
            let sizes = parameters.iter().map(|k| self.priors[*k].deviation);
            let moves: Vec<f64> = led_to.iter().zip(at.iter()).zip(sizes).map(|((new, old), sd)| (new - old) / sd).collect();
            if passes == MOST_PASSES || moves.iter().all(|m| m.abs() < REST) {
                known.passes = passes;
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
        let mut theta = DVector::from_iterator(self.priors.len(), self.priors.iter().map(|p| p.middle));
        let mut next = amounts + 1;
        for (k, prior) in self.priors.iter().enumerate() {
            if !matches!(prior.of, Parameter::StartSalinity | Parameter::Start(_)) {
                theta[k] = state[next];
                next += 1;
            }
        }
        let mut plan = self.tank(&theta);
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

impl<'m, 'a> Filter<'m, 'a> {
    fn new(model: &'m LogModel<'a>, wander: Wander, parameters: &[usize], at: DVector<f64>) -> Option<Self> {
        let end = model.last_d() + MONTH_D;
        let theta = |at: &DVector<f64>| {
            let mut theta = DVector::from_iterator(model.priors.len(), model.priors.iter().map(|p| p.middle));
            parameters.iter().zip(at.iter()).for_each(|(k, value)| theta[*k] = *value);
            theta
        };
        let (plan, batches) = model.course(&theta(&at), end);
        let displaced = parameters
            .iter()
            .enumerate()
            .map(|(j, k)| {
                // The bias of the meter moves nothing in the tank.
                (model.priors[*k].of != Parameter::Bias).then(|| {
                    let mut moved = at.clone();
                    moved[j] += STEP;
                    model.course(&theta(&moved), end).0
                })
            })
            .collect();
        plan.check().ok()?;
        let amounts = 2 + plan.species.iter().count();
        Some(Self { model, wander, amounts, parameters: parameters.to_vec(), at, plan, batches, displaced })
    }

    fn size(&self) -> usize {
        self.amounts + 1 + self.parameters.len()
    }

    /// What is believed at the first row: what a tank with the priors holds.
    fn begin(&self) -> Option<Belief> {
        let priors = &self.model.priors;
        let theta = DVector::from_fn(priors.len(), |k, _| {
            let own = self.parameters.iter().position(|p| *p == k);
            own.map_or(priors[k].middle, |j| self.at[j])
        });
        let holds = |theta: &DVector<f64>| -> Option<DVector<f64>> {
            let (plan, _) = self.model.course(theta, 1.0);
            let amounts = Simulation::new(&plan).ok()?.amounts().clone();
            Some(DVector::from_iterator(self.amounts, amounts.water_and_salt().into_iter().chain(amounts.solutes().iter().copied())))
        };
        let held = holds(&theta)?;
        let n = self.size();
        let mut mean = DVector::zeros(n);
        mean.rows_mut(0, self.amounts).copy_from(&held);
        let mut slopes = DMatrix::zeros(n, priors.len());
        for (k, prior) in priors.iter().enumerate() {
            let place = self.parameters.iter().position(|p| *p == k);
            if let Some(j) = place {
                slopes[(self.amounts + 1 + j, k)] = 1.0;
                mean[self.amounts + 1 + j] = prior.middle;
            }
            if prior.of == Parameter::Volume || place.is_none() {
                let mut moved = theta.clone();
                let by = STEP * prior.deviation;
                moved[k] += by;
                let slope = (holds(&moved)? - &held) / by;
                // The mean is that of the prior's middle, not of where derivatives are taken.
                let off = prior.middle - theta[k];
                let shift = &slope * off;
                let mut top = mean.rows_mut(0, self.amounts);
                top += shift;
                slopes.view_mut((0, k), (self.amounts, 1)).copy_from(&slope);
            }
        }
        let covariance = &slopes * self.model.prior_covariance() * slopes.transpose();
        Some(Belief { mean, covariance })
    }

    /// Amounts and top-off used after a stretch, with a change of the log on the way.
    fn advance(&self, plan: &Plan, held: &[f64], from: f64, to: f64, act: Option<&LogRow>) -> Option<DVector<f64>> {
        let full = plan.regime.top_off.reservoir.as_ref().map_or(f64::INFINITY, |r| r.capacity.litres());
        let held: Vec<f64> = held.iter().map(|a| a.max(0.0)).collect();
        let mut tank = Simulation::at(plan, from, Amounts::from(held), full).ok()?;
        if let Some((row, litres)) = act.and_then(|row| Some((row, row.change_l.filter(|l| *l > 0.0)?))) {
            tank.run_until(row.time_d + AFTER_READING_D, &mut Nothing).ok()?;
            let batch = (row.batch_psu, self.model.of_later_lot(row.time_d));
            let (_, change) = self.batches.iter().find(|(known, _)| *known == batch)?;
            let most = LARGEST_SHARE * plan.tank.operating.litres();
            tank.change_now(*change, (litres / most).min(1.0), &mut Nothing).ok()?;
        }
        tank.run_until(to, &mut Nothing).ok()?;
        let amounts = tank.amounts();
        let used = tank.tally().top_off_l;
        let all = amounts.water_and_salt().into_iter().chain(amounts.solutes().iter().copied()).chain([used]);
        Some(DVector::from_iterator(self.amounts + 1, all))
    }

    /// Moves a belief through a stretch of the log.
    fn go(&self, belief: &mut Belief, from: f64, to: f64, act: Option<&LogRow>) -> Option<()> {
        if to <= from {
            return Some(());
        }
        let (na, n) = (self.amounts, self.size());
        let held: Vec<f64> = belief.mean.rows(0, na).iter().copied().collect();
        let base = self.advance(&self.plan, &held, from, to, act)?;
        let mut transition = DMatrix::identity(n, n);
        transition.view_mut((0, 0), (na, na)).fill(0.0);
        for j in 0..na {
            let by = STEP * held[j].abs().max(1e-6);
            let mut moved = held.clone();
            moved[j] += by;
            let slope = (self.advance(&self.plan, &moved, from, to, act)? - &base) / by;
            transition.view_mut((0, j), (na + 1, 1)).copy_from(&slope);
        }
        let mut mean = belief.mean.clone();
        mean.rows_mut(0, na).copy_from(&base.rows(0, na));
        mean[na] += base[na];
        for (j, plan) in self.displaced.iter().enumerate() {
            let Some(plan) = plan else { continue };
            let slope = (self.advance(plan, &held, from, to, act)? - &base) / STEP;
            let off = belief.mean[na + 1 + j] - self.at[j];
            let mut top = mean.rows_mut(0, na + 1);
            top += &slope * off;
            transition.view_mut((0, na + 1 + j), (na + 1, 1)).copy_from(&slope);
        }
        let noise = self.noise(to - from, act);
        belief.predict(mean, &transition, &noise);
        Some(())
    }

    /// How far the tank wanders in so many days.
    fn noise(&self, days: f64, act: Option<&LogRow>) -> DMatrix<f64> {
        let n = self.size();
        let mut noise = DMatrix::zeros(n, n);
        let wander = self.wander;
        let litres = self.plan.tank.operating.litres();
        if !self.plan.regime.top_off.holds_level() {
            let weather = self.model.usual_top_off * self.model.precision.evaporation.deviation_of_days(days);
            noise[(0, 0)] = weather * weather;
        }
        if let Some(changed) = act.and_then(|row| row.change_l) {
            // A litre of sea water of one psu more holds a gram more of salt.
            noise[(1, 1)] = (1e-3 * wander.batch_psu * changed).powi(2);
        }
        for (i, species) in self.plan.species.each() {
            let load = self.plan.regime.loads[i] + self.plan.regime.feed[i] + species.uptake_per_day;
            noise[(2 + i.place(), 2 + i.place())] = (wander.load * load).powi(2) * days;
        }
        for (j, k) in self.parameters.iter().enumerate() {
            let month = match self.model.priors[*k].of {
                Parameter::Bias => wander.meter_psu,
                Parameter::LotStep => wander.batch_psu / 3.0,
                // The tank holds what it holds.
                Parameter::Volume => 0.0,
                _ => wander.rates,
            };
            let place = self.amounts + 1 + j;
            noise[(place, place)] = month * month * days / MONTH_D;
        }
        debug_assert!(litres > 0.0, "a tank holds water");
        noise
    }

    /// Salinity and volume of some amounts, and their derivatives by water and by salt.
    fn look(&self, held: &DVector<f64>) -> Option<Looked> {
        let of = |water: f64, salt: f64| -> Option<(f64, f64)> {
            let amounts = Amounts::new(water, salt, std::iter::repeat_n(0.0, self.amounts - 2));
            let tank = Simulation::at(&self.plan, 0.0, amounts, f64::INFINITY).ok()?;
            Some((tank.salinity().psu(), tank.volume_l()))
        };
        let (water, salt) = (held[0].max(1e-9), held[1].max(1e-9));
        let (psu, litres) = of(water, salt)?;
        let by = [STEP * water, STEP * salt];
        let (a, b) = (of(water + by[0], salt)?, of(water, salt + by[1])?);
        Some(Looked {
            psu,
            litres,
            psu_by: [(a.0 - psu) / by[0], (b.0 - psu) / by[1]],
            litres_by: [(a.1 - litres) / by[0], (b.1 - litres) / by[1]],
        })
    }

    /// A quantity of a belief, and its derivatives by the state.
    fn quantity(&self, belief: &Belief, of: ReadingOf) -> Option<(f64, DVector<f64>)> {
        let mut slope = DVector::zeros(self.size());
        if of == ReadingOf::TopOff {
            slope[self.amounts] = 1.0;
            return Some((belief.mean[self.amounts], slope));
        }
        let looked = self.look(&belief.mean)?;
        match of {
            ReadingOf::Solute(i) => {
                let place = 2 + i.place();
                let value = belief.mean[place] / looked.litres;
                slope[place] = 1.0 / looked.litres;
                for j in 0..2 {
                    slope[j] = -value / looked.litres * looked.litres_by[j];
                }
                Some((value, slope))
            }
            _ => {
                slope[0] = looked.psu_by[0];
                slope[1] = looked.psu_by[1];
                Some((looked.psu, slope))
            }
        }
    }

    /// All quantities of a belief, each with its derivatives.
    fn quantities(&self, belief: &Belief) -> Option<Vec<(f64, DVector<f64>)>> {
        let solutes = self.plan.species.ids().map(ReadingOf::Solute);
        std::iter::once(ReadingOf::Salinity).chain(solutes).map(|of| self.quantity(belief, of)).collect()
    }

    /// Goes through the log once.
    fn pass(&self, until_d: f64) -> Option<Known> {
        let model = self.model;
        let mut belief = self.begin()?;
        let mut readings: Vec<Taken> = Vec::new();
        let mut course: Vec<Vec<Believed>> = vec![Vec::new(); self.amounts - 1];
        let mut since = model.rows.first()?.time_d;
        let mut now = since;
        let mut act: Option<&LogRow> = None;
        for row in model.rows {
            self.go(&mut belief, now, row.time_d, act)?;
            now = row.time_d.max(now);
            act = Some(row);
            if let Some(read) = row.salinity_psu {
                let r = model.precision.salinity_psu.powi(2);
                self.read(&mut belief, &mut readings, row.time_d, ReadingOf::Salinity, read, r)?;
            }
            for (i, read) in self.plan.species.ids().zip(&row.solutes) {
                let Some(read) = *read else { continue };
                let of = ReadingOf::Solute(i);
                let expected = self.quantity(&belief, of)?.0;
                let r = (model.precision.kit * read.max(expected)).max(1e-6).powi(2);
                self.read(&mut belief, &mut readings, row.time_d, of, read, r)?;
            }
            for (column, (mean, slope)) in course.iter_mut().zip(self.quantities(&belief)?) {
                let deviation = belief.variance_of(&slope).sqrt();
                column.push(Believed { time_d: row.time_d, mean, deviation });
            }
            if let Some(read) = row.top_off_l {
                let noted = row.time_d + 0.6 * AFTER_READING_D;
                self.go(&mut belief, now, noted, None)?;
                now = noted;
                let days = row.time_d - since;
                if days > 0.0 {
                    let weather = model.precision.evaporation;
                    let r = model.usual_top_off * (weather.deviation_of_sum(days) + METERED * days);
                    self.read(&mut belief, &mut readings, row.time_d, ReadingOf::TopOff, read, r * r)?;
                }
            }
            if row.top_off_l.is_some() || model.noted == Noted::SinceTheRowBefore {
                since = row.time_d;
                let n = self.size();
                let mut forget = DMatrix::identity(n, n);
                forget[(self.amounts, self.amounts)] = 0.0;
                let mut mean = belief.mean.clone();
                mean[self.amounts] = 0.0;
                belief.predict(mean, &forget, &DMatrix::zeros(n, n));
            }
        }
        let end = until_d.max(now + 2.0 * AFTER_READING_D);
        self.go(&mut belief, now, end, act)?;
        close(&mut readings);
        let quantities = self.quantities(&belief)?;
        let slopes = DMatrix::from_fn(quantities.len(), self.size(), |i, j| quantities[i].1[j]);
        let mean = DVector::from_iterator(quantities.len(), quantities.iter().map(|q| q.0));
        let covariance = &slopes * &belief.covariance * slopes.transpose();
        let quantities = Belief { mean, covariance };
        let likelihood = readings.iter().map(Taken::likelihood).sum();
        Some(Known { belief, quantities, course, readings, likelihood, passes: 1 })
    }

    /// Takes a reading in.
    fn read(
        &self,
        belief: &mut Belief,
        taken: &mut Vec<Taken>,
        time_d: f64,
        of: ReadingOf,
        read: f64,
        r: f64,
    ) -> Option<()> {
        let (value, of_truth) = self.quantity(belief, of)?;
        let (mut expected, mut slope) = (value, of_truth.clone());
        if of == ReadingOf::Salinity {
            let bias = self.parameters.iter().position(|k| self.model.priors[*k].of == Parameter::Bias);
            if let Some(j) = bias {
                expected += belief.mean[self.amounts + 1 + j];
                slope[self.amounts + 1 + j] = 1.0;
            }
        }
        let before = belief.variance_of(&of_truth).sqrt();
        let told = belief.innovation(&slope, expected, read, r);
        let misfit = told.surprise.abs() > MISFIT * told.deviation;
        let last = taken.iter().rposition(|t| t.of == of);
        let z = told.surprise / told.deviation;
        let stands_by = last.filter(|k| {
            let t = &taken[*k];
            let before = (t.read - t.expected) / t.deviation;
            before * z > 0.0 && z.abs() > TWICE && before.abs() > TWICE && t.verdict != Verdict::Changed
        });
        let verdict = match (misfit || stands_by.is_some(), stands_by) {
            (false, _) => {
                belief.take_in(&slope, &told, r, 1.0);
                Verdict::Fits
            }
            (true, None) => {
                // Believed as far as one that just fits, and worth nothing more.
                let share = BELIEVED * told.deviation / told.surprise.abs();
                belief.mean += &told.gain * (share * told.surprise);
                Verdict::Open
            }
            (true, Some(k)) => {
                taken[k].verdict = Verdict::Changed;
                self.follow(belief, of, told.surprise, value);
                let told = belief.innovation(&slope, expected, read, r);
                belief.take_in(&slope, &told, r, 1.0);
                Verdict::Changed
            }
        };
        let (_, of_truth) = self.quantity(belief, of)?;
        let known = (before, belief.variance_of(&of_truth).sqrt());
        taken.push(Taken { time_d, of, read, expected, deviation: told.deviation, known, verdict });
        Some(())
    }

    /// Lets what a reading is of have changed by as much as it is off.
    fn follow(&self, belief: &mut Belief, of: ReadingOf, by: f64, value: f64) {
        let place = match of {
            ReadingOf::Salinity => 1,
            ReadingOf::Solute(i) => 2 + i.place(),
            ReadingOf::TopOff => self.amounts,
        };
        let amount = belief.mean[place];
        let share = if of == ReadingOf::TopOff { by } else { by * amount / value.abs().max(1e-9) };
        belief.covariance[(place, place)] += share * share;
        // It may be the tank, or what works on it, or the meter: the readings to come will tell.
        for (j, k) in self.parameters.iter().enumerate() {
            let more = match (self.model.priors[*k].of, of) {
                (Parameter::Bias, ReadingOf::Salinity) => by.abs(),
                (Parameter::LotStep, ReadingOf::Salinity) => CHANGED.0,
                (Parameter::Load(i) | Parameter::Demand(i), ReadingOf::Solute(own)) if i == own => CHANGED.1,
                (Parameter::Evaporation, ReadingOf::TopOff) => CHANGED.1,
                _ => continue,
            };
            let place = self.amounts + 1 + j;
            belief.covariance[(place, place)] += more * more;
        }
    }
}

/// Salinity and volume with their derivatives by water and by salt.
struct Looked {
    psu: f64,
    litres: f64,
    psu_by: [f64; 2],
    litres_by: [f64; 2],
}

/// A reading that did not fit, and that a later one of its kind did not stand by, stood by itself.
fn close(readings: &mut [Taken]) {
    for k in 0..readings.len() {
        if readings[k].verdict == Verdict::Open {
            let of = readings[k].of;
            let followed = readings[k + 1..].iter().any(|later| later.of == of);
            if followed {
                readings[k].verdict = Verdict::ByItself;
            }
        }
    }
}
