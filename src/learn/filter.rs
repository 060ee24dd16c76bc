//! A log gone through row by row by a Kalman filter whose step is the engine's.

use nalgebra::{DMatrix, DVector};

use super::course::AFTER_READING_D;
use super::explanation::Noted;
use super::fit::{LogModel, LogRow, METERED};
use super::known::{Believed, Known, ReadingOf, Taken, Verdict, Wander};
use super::prior::Parameter;
use crate::engine::{Nothing, Simulation};
use crate::model::limits::LARGEST_SHARE;
use crate::model::{Amounts, Id, Plan};
use crate::numerics::{Belief, Elementary};

/// What the state is, and where each part of it stands.
pub(super) struct Filter<'m, 'a> {
    pub(super) model: &'m LogModel<'a>,
    wander: Wander,
    /// Water, salt, solutes.
    pub(super) amounts: usize,
    /// Places of the parameters among the priors.
    pub(super) parameters: Vec<usize>,
    /// The parameters at which derivatives are taken, and the plans with them: as they are, and with each displaced.
    at: DVector<f64>,
    pub(super) plan: Plan,
    batches: Vec<(super::course::Batch, usize)>,
    displaced: Vec<Option<Plan>>,
}

/// Share of an amount, and of a parameter, by which derivatives are taken.
pub(super) const STEP: f64 = 1e-4;
/// Days of a month.
const MONTH_D: f64 = 30.0;

impl<'m, 'a> Filter<'m, 'a> {
    pub(super) fn new(model: &'m LogModel<'a>, wander: Wander, at: DVector<f64>) -> Option<Self> {
        let end = model.last_d() + MONTH_D;
        let parameters = model.beside_the_start();
        let (plan, batches) = model.course(&model.theta_of(&at), end);
        let displaced = parameters
            .iter()
            .enumerate()
            .map(|(j, k)| {
                // The bias of the meter moves nothing in the tank.
                (model.priors[*k].of != Parameter::Bias).then(|| {
                    let mut moved = at.clone();
                    moved[j] += STEP;
                    model.course(&model.theta_of(&moved), end).0
                })
            })
            .collect();
        plan.check().ok()?;
        let amounts = 2 + plan.species.iter().count();
        Some(Self { model, wander, amounts, parameters, at, plan, batches, displaced })
    }

    /// Where a parameter stands in the state.
    pub(super) fn place_of(&self, of: Parameter) -> Option<usize> {
        let j = self.parameters.iter().position(|k| self.model.priors[*k].of == of)?;
        Some(self.amounts + 1 + j)
    }

    pub(super) fn size(&self) -> usize {
        self.amounts + 1 + self.parameters.len()
    }

    /// What is believed at the first row: what a tank with the priors holds.
    fn begin(&self) -> Option<Belief> {
        let priors = &self.model.priors;
        let theta = self.model.theta_of(&self.at);
        let holds = |theta: &DVector<f64>| -> Option<DVector<f64>> {
            let (plan, _) = self.model.course(theta, 1.0);
            let amounts = Simulation::new(&plan).ok()?.amounts().clone();
            Some(DVector::from_iterator(self.amounts, amounts.row().iter().copied()))
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
    pub(super) fn advance(
        &self,
        plan: &Plan,
        held: &[f64],
        from: f64,
        to: f64,
        act: Option<&LogRow>,
    ) -> Option<DVector<f64>> {
        let full = plan.regime_at(from + AFTER_READING_D).1.top_off.capacity_l();
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
        let all = tank.amounts().row().iter().copied().chain([tank.tally().top_off_l]);
        Some(DVector::from_iterator(self.amounts + 1, all))
    }

    /// Moves a belief through a stretch of the log.
    fn go(&self, belief: &mut Belief, from: f64, to: f64, act: Option<&LogRow>) -> Option<()> {
        if to <= from {
            return Some(());
        }
        let (na, n) = (self.amounts, self.size());
        // The level goes with what is believed of the volume now: a float that held another would not fill for days.
        let volume = self.place_of(Parameter::Volume);
        let times = volume.map_or(1.0, |place| (belief.mean[place] - self.at[place - na - 1]).to_exp());
        let here = |plan: &Plan| larger_by(plan, times);
        let own_plan = here(&self.plan);
        let held: Vec<f64> = belief.mean.rows(0, na).iter().copied().collect();
        let base = self.advance(&own_plan, &held, from, to, act)?;
        let mut transition = DMatrix::identity(n, n);
        transition.view_mut((0, 0), (na, na)).fill(0.0);
        for j in 0..na {
            // Downwards: a float fills up what is missing, while what is too much would stay. The level that it holds is told
            // by the volume alone.
            let by = -STEP * held[j].abs().max(1e-6);
            let mut moved = held.clone();
            moved[j] += by;
            let slope = (self.advance(&own_plan, &moved, from, to, act)? - &base) / by;
            transition.view_mut((0, j), (na + 1, 1)).copy_from(&slope);
        }
        let mut mean = belief.mean.clone();
        mean.rows_mut(0, na).copy_from(&base.rows(0, na));
        mean[na] += base[na];
        for (j, plan) in self.displaced.iter().enumerate() {
            let Some(plan) = plan else { continue };
            let slope = (self.advance(&here(plan), &held, from, to, act)? - &base) / STEP;
            // What is believed of the volume is in the plans already.
            let off = if Some(na + 1 + j) == volume { 0.0 } else { belief.mean[na + 1 + j] - self.at[j] };
            let mut top = mean.rows_mut(0, na + 1);
            top += &slope * off;
            transition.view_mut((0, na + 1 + j), (na + 1, 1)).copy_from(&slope);
        }
        let noise = self.noise(to - from, act);
        belief.predict(mean, &transition, &noise);
        Some(())
    }

    /// How far the tank wanders in so many days.
    pub(super) fn noise(&self, days: f64, act: Option<&LogRow>) -> DMatrix<f64> {
        let n = self.size();
        let mut noise = DMatrix::zeros(n, n);
        let wander = self.wander;
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
                Parameter::Evaporation
                | Parameter::Skimmate
                | Parameter::Load(_)
                | Parameter::Removal(_)
                | Parameter::Demand(_) => wander.rates,
                // The tank holds what it holds, and what happened once happened.
                Parameter::Volume
                | Parameter::StartSalinity
                | Parameter::Start(_)
                | Parameter::MeterStep
                | Parameter::EvaporationStep
                | Parameter::LoadStep(_)
                | Parameter::SeasonCosine
                | Parameter::SeasonSine => 0.0,
            };
            let place = self.amounts + 1 + j;
            noise[(place, place)] = month * month * days / MONTH_D;
        }
        noise
    }

    /// Goes through the log once.
    pub(super) fn pass(&self, until_d: f64) -> Option<Known> {
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
                let r = model.error_of_test(i, read, expected).powi(2);
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
        let worth = self.worth(&belief)?;
        Some(Known { belief, quantities, course, readings, worth, likelihood, jug: model.jug, at_rest: false })
    }
}

/// A plan whose tank holds so many times as much, with loads and demands by the litre.
fn larger_by(plan: &Plan, times: f64) -> Plan {
    let mut plan = plan.clone();
    let tank = &mut plan.tank;
    (tank.operating, tank.volume) = (tank.operating * times, tank.volume * times);
    for species in &mut plan.species {
        species.uptake_per_day *= times;
        species.calcified_per_day *= times;
    }
    for regime in plan.regimes_mut() {
        regime.loads.iter_mut().chain(&mut regime.feed).for_each(|load| *load *= times);
        regime.laid_down_kg_per_d *= times;
    }
    plan
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
