//! What a filter makes of readings: what was expected, what a reading says, and what one more would be worth.

use nalgebra::DVector;

use super::filter::{Filter, STEP};
use super::known::{MISFIT, ReadingOf, Taken, Verdict, Worth};
use super::prior::Parameter;
use crate::engine::Simulation;
use crate::model::{Amounts, Id, SoluteId};
use crate::numerics::Belief;

/// Deviations beyond which two readings in a row, off to the same side, do not fit together, at least: one pair in a thousand by
/// chance.
const TWICE: f64 = 2.0;
/// Chance that so many readings show such a pair by chance alone.
const BY_CHANCE: f64 = 0.02;

/// Deviations to which a reading that does not fit is believed.
const BELIEVED: f64 = 2.0;
/// Deviations that are added where something changed: of the strength of new water \[psu\], and of the logarithm of a rate.
const CHANGED: (f64, f64) = (1.5, 0.5);
/// Standard deviation of a check of the meter with a standard \[psu\] (common practice, no source).
const STANDARD_PSU: f64 = 0.15;

impl Filter<'_, '_> {
    /// Salinity and volume of so much water and salt.
    pub(super) fn held(&self, water: f64, salt: f64) -> Option<(f64, f64)> {
        let amounts = Amounts::new(water.max(1e-9), salt.max(1e-9), std::iter::repeat_n(0.0, self.amounts - 2));
        let tank = Simulation::at(&self.plan, 0.0, amounts, f64::INFINITY).ok()?;
        Some((tank.salinity().psu(), tank.volume_l()))
    }

    /// The same with their derivatives by water and by salt.
    fn look(&self, belief: &Belief) -> Option<Looked> {
        let (water, salt) = (belief.mean[0].max(1e-9), belief.mean[1].max(1e-9));
        let (psu, litres) = self.held(water, salt)?;
        let by = [STEP * water, STEP * salt];
        let (a, b) = (self.held(water + by[0], salt)?, self.held(water, salt + by[1])?);
        Some(Looked {
            psu,
            litres,
            psu_by: [(a.0 - psu) / by[0], (b.0 - psu) / by[1]],
            litres_by: [(a.1 - litres) / by[0], (b.1 - litres) / by[1]],
        })
    }

    /// A quantity of a belief, and its derivatives by the state.
    pub(super) fn quantity(&self, belief: &Belief, of: ReadingOf) -> Option<(f64, DVector<f64>)> {
        Some(self.seen(belief, of, &self.look(belief)?))
    }

    /// All quantities of a belief, each with its derivatives: salinity, then the solutes.
    pub(super) fn quantities(&self, belief: &Belief) -> Option<Vec<(f64, DVector<f64>)>> {
        let looked = self.look(belief)?;
        let solutes = self.plan.species.ids().map(ReadingOf::Solute);
        Some(std::iter::once(ReadingOf::Salinity).chain(solutes).map(|of| self.seen(belief, of, &looked)).collect())
    }

    fn seen(&self, belief: &Belief, of: ReadingOf, looked: &Looked) -> (f64, DVector<f64>) {
        let mut slope = DVector::zeros(self.size());
        match of {
            ReadingOf::TopOff => {
                slope[self.amounts] = 1.0;
                (belief.mean[self.amounts], slope)
            }
            ReadingOf::Solute(i) => {
                let place = 2 + i.place();
                let value = belief.mean[place] / looked.litres;
                slope[place] = 1.0 / looked.litres;
                for j in 0..2 {
                    slope[j] = -value / looked.litres * looked.litres_by[j];
                }
                (value, slope)
            }
            ReadingOf::Salinity => {
                (slope[0], slope[1]) = (looked.psu_by[0], looked.psu_by[1]);
                (looked.psu, slope)
            }
        }
    }

    /// What one more reading of each kind that the log has would be worth.
    pub(super) fn worth(&self, belief: &Belief) -> Option<Vec<Worth>> {
        let model = self.model;
        let truths = self.quantities(belief)?;
        let narrowed = |quantity: usize, h: &DVector<f64>, r: f64| {
            let truth = &truths[quantity].1;
            let before = belief.variance_of(truth);
            let told = belief.innovation(h, 0.0, 0.0, r);
            let after = before - truth.dot(&told.gain).powi(2) * told.deviation.powi(2);
            (before.sqrt(), after.max(0.0).sqrt())
        };
        let mut list = Vec::new();
        if let Some(place) = self.place_of(Parameter::Bias) {
            let mut h = DVector::zeros(self.size());
            h[place] = 1.0;
            list.push(Worth { of: None, quantity: 0, known: narrowed(0, &h, STANDARD_PSU.powi(2)) });
            h += &truths[0].1;
            let r = model.precision.salinity_psu.powi(2);
            list.push(Worth { of: Some(ReadingOf::Salinity), quantity: 0, known: narrowed(0, &h, r) });
        }
        let read = |i: SoluteId| model.rows.iter().any(|row| row.solutes.get(i.place()).is_some_and(Option::is_some));
        for i in self.plan.species.ids().filter(|i| read(*i)) {
            let quantity = 1 + i.place();
            let (value, h) = &truths[quantity];
            let r = model.error_of_test(i, *value, *value).powi(2);
            list.push(Worth { of: Some(ReadingOf::Solute(i)), quantity, known: narrowed(quantity, h, r) });
        }
        Some(list)
    }

    /// Takes a reading in.
    pub(super) fn read(
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
        if let Some(place) = self.place_of(Parameter::Bias).filter(|_| of == ReadingOf::Salinity) {
            expected += belief.mean[place];
            slope[place] = 1.0;
        }
        let before = belief.variance_of(&of_truth).sqrt();
        let told = belief.innovation(&slope, expected, read, r);
        let misfit = told.surprise.abs() > MISFIT * told.deviation;
        let last = taken.iter().rposition(|t| t.of == of);
        let z = told.surprise / told.deviation;
        let twice = twice(self.model.rows.len());
        let stands_by = last.filter(|k| {
            let t = &taken[*k];
            let before = (t.read - t.expected) / t.deviation;
            before * z > 0.0 && z.abs() > twice && before.abs() > twice && t.verdict != Verdict::Changed
        });
        let verdict = match stands_by {
            None if !misfit => {
                belief.take_in(&slope, &told, r);
                Verdict::Fits
            }
            None => {
                // Believed as far as one that just fits, and worth nothing more.
                belief.mean += &told.gain * (BELIEVED * told.deviation * told.surprise.signum());
                Verdict::Open
            }
            Some(k) => {
                taken[k].verdict = Verdict::Changed;
                self.follow(belief, of, told.surprise, value);
                let told = belief.innovation(&slope, expected, read, r);
                belief.take_in(&slope, &told, r);
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

/// Deviations beyond which two readings in a row do not fit together in a log of so many rows.
fn twice(rows: usize) -> f64 {
    use statrs::distribution::{ContinuousCDF, Normal};
    let one = (0.5 * BY_CHANCE / rows.max(1) as f64).sqrt();
    Normal::standard().inverse_cdf(1.0 - one.min(0.4)).max(TWICE)
}
