//! The same belief as a cloud of tanks, each run by the engine, where it is not normal: a solute that may be used up, spreads that
//! are no bell.
//!
//! Readings weigh the tanks, heavier tails let a wild one pass; where few tanks carry the weight they are drawn anew, and their
//! parameters drawn towards their mean and spread again, so that they neither die out nor widen (Liu & West 2001, in: Doucet, de
//! Freitas & Gordon, Sequential Monte Carlo Methods in Practice, ch. 10; 0.98 of the way).

use std::sync::Arc;

use nalgebra::{DMatrix, DVector};
use rand::rngs::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

use super::explanation::Noted;
use super::filter::Filter;
use super::fit::{LogModel, METERED};
use super::known::Wander;
use super::prior::Parameter;
use crate::engine::Simulation;
use crate::learn::course::AFTER_READING_D;
use crate::model::{Id, Plan};
use crate::numerics::{Belief, Elementary, Particles};

/// One tank of the cloud: water, salt, solutes, top-off since noted, parameters; and the plan with these.
#[derive(Clone)]
struct Tank {
    state: DVector<f64>,
    plan: Arc<Plan>,
}

/// Share of the tanks that must carry the weight.
const CARRIED: f64 = 0.5;
/// How far parameters are drawn towards their mean where tanks are drawn anew.
const KEPT: f64 = 0.98;
/// Share of readings that are wild, and how much farther those scatter.
const WILD: (f64, f64) = (0.02, 5.0);

/// A cloud of tanks after a log.
#[derive(Clone, Debug)]
pub struct Cloud {
    /// States of equal weight, as in [`super::Known::belief`].
    pub states: Vec<DVector<f64>>,
    /// Salinity \[psu\] and the solutes, of each.
    pub quantities: Vec<Vec<f64>>,
    /// The smallest number of tanks that carried the weight at a reading.
    pub fewest: f64,
}

impl LogModel<'_> {
    /// A cloud of so many tanks moved through the log; nothing where one of them cannot be run.
    #[must_use]
    pub fn cloud(&self, wander: Wander, until_d: f64, count: usize, rng: &mut ChaCha8Rng) -> Option<Cloud> {
        let model = self.with_mixing_off();
        let parameters = model.beside_the_start();
        let middle = DVector::from_iterator(parameters.len(), parameters.iter().map(|k| model.priors[*k].middle));
        let filter = Filter::new(&model, wander, middle)?;
        Moving { model: &model, filter: &filter, end_d: until_d + 1.0 }.through(until_d, count, rng)
    }
}

struct Moving<'m, 'a> {
    model: &'m LogModel<'a>,
    filter: &'m Filter<'m, 'a>,
    end_d: f64,
}

impl Moving<'_, '_> {
    fn through(&self, until_d: f64, count: usize, rng: &mut ChaCha8Rng) -> Option<Cloud> {
        let model = self.model;
        let mut cloud = Particles::new(self.begin(count, rng)?);
        let mut fewest = count as f64;
        let mut since = model.rows.first()?.time_d;
        let (mut now, mut spread_at) = (since, since);
        let mut act = None;
        let place = self.filter.amounts;
        for row in model.rows {
            self.go(&mut cloud, now, row.time_d, act, rng)?;
            now = row.time_d.max(now);
            act = Some(row);
            if let Some(read) = row.salinity_psu {
                let r = model.precision.salinity_psu;
                let bias = self.filter.place_of(Parameter::Bias);
                let shown = |t: &Tank| self.psu(t) + bias.map_or(0.0, |b| t.state[b]);
                weigh(&mut cloud, &shown, read, &|_| r);
            }
            for (i, read) in self.filter.plan.species.ids().zip(&row.solutes) {
                let Some(read) = *read else { continue };
                let value = |t: &Tank| self.solute(t, i.place());
                weigh(&mut cloud, &value, read, &|value| model.error_of_test(i, read, value));
            }
            if let Some(read) = row.top_off_l {
                let noted = row.time_d + 0.6 * AFTER_READING_D;
                self.go(&mut cloud, now, noted, None, rng)?;
                now = noted;
                let days = row.time_d - since;
                if days > 0.0 {
                    let weather = model.precision.evaporation;
                    let r = model.usual_top_off * (weather.deviation_of_sum(days) + METERED * days);
                    weigh(&mut cloud, &|t| t.state[place], read, &|_| r);
                }
            }
            if row.top_off_l.is_some() || model.noted == Noted::SinceTheRowBefore {
                since = row.time_d;
                cloud.states.iter_mut().for_each(|t| t.state[place] = 0.0);
            }
            fewest = fewest.min(cloud.effective());
            if cloud.effective() < CARRIED * count as f64 {
                self.renew(&mut cloud, row.time_d - spread_at, rng);
                spread_at = row.time_d;
            }
        }
        self.go(&mut cloud, now, until_d.max(now + 2.0 * AFTER_READING_D), act, rng)?;
        cloud.resample(rng);
        let of = |t: &Tank| std::iter::once(self.psu(t)).chain((0..place - 2).map(|i| self.solute(t, i))).collect();
        let quantities = cloud.states.iter().map(of).collect();
        Some(Cloud { states: cloud.states.into_iter().map(|t| t.state).collect(), quantities, fewest })
    }

    /// Tanks as they may have been at the first row.
    fn begin(&self, count: usize, rng: &mut ChaCha8Rng) -> Option<Vec<Tank>> {
        let priors = &self.model.priors;
        let n = priors.len();
        let mean = DVector::from_iterator(n, priors.iter().map(|p| p.middle));
        let root = Belief { mean: mean.clone(), covariance: self.model.prior_covariance() }.root();
        let thetas: Vec<DVector<f64>> =
            (0..count).map(|_| &mean + &root * DVector::from_fn(n, |_, _| StandardNormal.sample(rng))).collect();
        thetas
            .into_par_iter()
            .map(|theta| {
                let plan = self.model.course(&theta, self.end_d).0;
                let held = Simulation::new(&plan).ok()?.amounts().clone();
                let own = self.filter.parameters.iter().map(|k| theta[*k]);
                let state: Vec<f64> = held.row().iter().copied().chain([0.0]).chain(own).collect();
                Some(Tank { state: DVector::from_vec(state), plan: Arc::new(plan) })
            })
            .collect()
    }

    /// Moves every tank on by the engine, with what wanders on the way but parameters.
    fn go(
        &self,
        cloud: &mut Particles<Tank>,
        from: f64,
        to: f64,
        act: Option<&super::LogRow>,
        rng: &mut ChaCha8Rng,
    ) -> Option<()> {
        if to <= from {
            return Some(());
        }
        let place = self.filter.amounts;
        let noise = self.filter.noise(to - from, act);
        let draws: Vec<Vec<f64>> =
            cloud.states.iter().map(|_| (0..place).map(|_| StandardNormal.sample(rng)).collect()).collect();
        cloud.states.par_iter_mut().zip(draws).try_for_each(|(tank, z)| {
            let held: Vec<f64> = tank.state.rows(0, place).iter().copied().collect();
            let after = self.filter.advance(&tank.plan, &held, from, to, act)?;
            for (k, z) in z.into_iter().enumerate() {
                tank.state[k] = (after[k] + noise[(k, k)].sqrt() * z).max(0.0);
            }
            tank.state[place] += after[place];
            Some(())
        })
    }

    /// Draws the tanks anew by their weights, and spreads their parameters again, by what they wandered in so many days too.
    fn renew(&self, cloud: &mut Particles<Tank>, days: f64, rng: &mut ChaCha8Rng) {
        let (place, n) = (self.filter.amounts + 1, self.filter.parameters.len());
        let own = |t: &Tank| t.state.rows(place, n).into_owned();
        let weights = cloud.weights();
        let mean = cloud.states.iter().zip(&weights).fold(DVector::zeros(n), |sum, (t, w)| sum + own(t) * *w);
        let covariance = cloud.states.iter().zip(&weights).fold(DMatrix::zeros(n, n), |sum: DMatrix<f64>, (t, w)| {
            let off = own(t) - &mean;
            sum + &off * off.transpose() * *w
        });
        let root = Belief { mean: mean.clone(), covariance: covariance * (1.0 - KEPT * KEPT) }.root();
        let wandered = self.filter.noise(days.max(0.0), None);
        cloud.resample(rng);
        let draws: Vec<(DVector<f64>, DVector<f64>)> = cloud
            .states
            .iter()
            .map(|_| {
                let mut z = || DVector::from_fn(n, |_, _| StandardNormal.sample(rng));
                (z(), z())
            })
            .collect();
        cloud.states.par_iter_mut().zip(draws).for_each(|(tank, (z, w))| {
            let mut next = &mean + (own(tank) - &mean) * KEPT + &root * z;
            for j in 0..n {
                next[j] += wandered[(place + j, place + j)].sqrt() * w[j];
            }
            tank.state.rows_mut(place, n).copy_from(&next);
            tank.plan = Arc::new(self.model.course(&self.model.theta_of(&next), self.end_d).0);
        });
    }

    fn psu(&self, tank: &Tank) -> f64 {
        self.filter.held(tank.state[0], tank.state[1]).map_or(f64::NAN, |(psu, _)| psu)
    }

    fn solute(&self, tank: &Tank, i: usize) -> f64 {
        self.filter.held(tank.state[0], tank.state[1]).map_or(f64::NAN, |(_, litres)| tank.state[2 + i] / litres)
    }
}

/// Weighs tanks by a reading, of which a small share is wild.
fn weigh(
    cloud: &mut Particles<Tank>,
    value: &(dyn Fn(&Tank) -> f64 + Sync),
    read: f64,
    deviation: &dyn Fn(f64) -> f64,
) {
    let values: Vec<f64> = cloud.states.par_iter().map(value).collect();
    let of = |value: f64| {
        let sd = deviation(value);
        let bell = |by: f64| (-0.5 * ((read - value) / (by * sd)).powi(2)).to_exp() / (by * sd);
        ((1.0 - WILD.0) * bell(1.0) + WILD.0 * bell(WILD.1)).to_ln()
    };
    cloud.weigh(values.into_iter().map(of));
}
