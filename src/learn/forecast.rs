//! What a fit says of readings that were not taken yet: what the next would narrow, and where held-out ones should lie.

use nalgebra::DVector;
use rayon::prelude::*;

use super::fit::{Fit, LogModel, LogRow, Prediction};
use super::known::ReadingOf;
use super::prior::Parameter;
use crate::model::Plan;
use crate::numerics::jacobian;

impl<'a> LogModel<'a> {
    fn gradient(fit: &Fit, of: &(dyn Fn(&DVector<f64>) -> Option<f64> + Sync)) -> Option<DVector<f64>> {
        let one = |theta: &DVector<f64>| of(theta).map(|v| DVector::from_element(1, v));
        Some(jacobian(&fit.theta, 1, &one)?.row(0).transpose())
    }

    /// The standard deviation of a wanted number of the fitted tank, by its derivatives.
    #[must_use]
    pub fn deviation_of(&self, fit: &Fit, wanted: &(dyn Fn(&Plan) -> Option<f64> + Sync)) -> Option<f64> {
        let target = Self::gradient(fit, &|theta| wanted(&self.tank(theta)))?;
        let variance = target.dot(&(&fit.covariance * &target));
        (variance.is_finite() && variance >= 0.0).then(|| variance.sqrt())
    }

    /// By what share each further measurement would narrow the variance of a wanted number of the fitted tank, the best
    /// first: `(tᵀCg)²/(σ² + gᵀCg)` over `tᵀCt`, for a measurement with gradient `g` and deviation `σ`.
    #[must_use]
    pub fn next_readings(&self, fit: &Fit, wanted: &(dyn Fn(&Plan) -> Option<f64> + Sync)) -> Vec<(String, f64)> {
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
                    self.error_of_test(i, value, value),
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
        let mut columns: Vec<(f64, ReadingOf, f64, Vec<f64>)> = Vec::new();
        let walked: Vec<Option<Vec<Prediction>>> =
            draws.par_iter().map(|z| whole.walk(&(&fit.theta + &lower * z), 0.0).map(|(list, _)| list)).collect();
        for (k, list) in walked.into_iter().enumerate() {
            let Some(list) = list else { continue };
            let later = list.iter().filter(|p| p.time_d >= begin - 1e-9);
            for (i, p) in later.enumerate() {
                if columns.len() <= i {
                    columns.push((p.time_d, p.of, p.read, Vec::new()));
                }
                let error = noise[(k * 31 + i * 7) % noise.len()];
                columns[i].3.push(p.value + p.deviation * error);
            }
        }
        columns
            .into_iter()
            .map(|(time_d, of, read, mut values)| {
                values.sort_unstable_by(f64::total_cmp);
                let at = |q| crate::numerics::quantile(&values, q);
                HeldOut { time_d, of, name: self.name(of), read, interval: (at(0.05), at(0.95)), middle: at(0.5) }
            })
            .collect()
    }
}

/// A reading that was held out, and what was predicted for it.
#[derive(Clone, Debug, PartialEq)]
pub struct HeldOut {
    /// When \[d\].
    pub time_d: f64,
    /// Of what.
    pub of: ReadingOf,
    /// The same as it is called.
    pub name: String,
    /// The reading.
    pub read: f64,
    /// Ends of the 90 % interval.
    pub interval: (f64, f64),
    /// Median.
    pub middle: f64,
}
