//! All that is uncertain in a scenario.

use nalgebra::DVector;
use rand::rngs::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use super::correlation::Correlation;
use super::{Spread, err_in_readings, miss_batches, miss_changes, miss_readings, vary_evaporation};
use crate::model::{DayToDay, Plan};
use crate::units::{Duration, Fraction, Gallon, parse, trimmed};

/// What is said of correlations that no numbers can have.
const CONTRADICT: &str = "the correlations contradict each other: no numbers hang together like that";

/// Keys that are drawn once for a member, and what varies within its run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Uncertainty {
    /// Spreads on keys.
    pub spreads: Vec<Spread>,
    /// How they hang together.
    pub correlation: Correlation,
    /// Day-to-day variation of evaporation.
    pub day_to_day: Option<DayToDay>,
    /// Chance that a scheduled change is missed, or a reading by which something is done.
    pub missed: Option<f64>,
    /// Standard deviation of a batch's salinity \[psu\].
    pub batch_error_psu: Option<f64>,
    /// Standard deviation of a test kit, as a share; with it what is read errs, by the noise of the meter too.
    pub kit_error: Option<f64>,
}

impl Uncertainty {
    /// Whether nothing is uncertain.
    #[must_use]
    pub fn is_none(&self) -> bool {
        self.spreads.is_empty() && self.day_to_day.is_none() && !self.varies_changes()
    }

    /// Whether changes are missed or batches are off.
    #[must_use]
    pub fn varies_changes(&self) -> bool {
        self.missed.is_some_and(|p| p > 0.0)
            || self.batch_error_psu.is_some_and(|sd| sd > 0.0)
            || self.kit_error.is_some()
    }

    /// Puts one on top of the other: spreads of the same key, and what is given, replace; a chance of 0 too.
    #[must_use]
    pub fn over(self, below: &Self) -> Self {
        let Self { spreads, correlation: _, day_to_day, missed, batch_error_psu, kit_error } = self;
        // A spread that is given anew hangs together with nothing.
        let is_new = |key: &str| spreads.iter().any(|own| own.key == key);
        let correlation = below.correlation.among(|key| !is_new(key));
        let kept: Vec<Spread> = below.spreads.iter().filter(|s| !is_new(&s.key)).cloned().collect();
        Self {
            correlation,
            spreads: [kept, spreads].concat(),
            day_to_day: day_to_day.or(below.day_to_day),
            missed: missed.or(below.missed),
            batch_error_psu: batch_error_psu.or(below.batch_error_psu),
            kit_error: kit_error.or(below.kit_error),
        }
    }

    /// What varies within a run alone, without the spreads of keys.
    #[must_use]
    pub fn within_runs(&self) -> Self {
        Self { spreads: Vec::new(), correlation: Correlation::default(), ..self.clone() }
    }

    /// The same with what it leaves open taken from another: all spreads where it has none, and what varies within a run where it
    /// does not say.
    #[must_use]
    pub fn completed_by(&self, other: &Self) -> Self {
        let (spreads, correlation) = if self.spreads.is_empty() {
            (other.spreads.clone(), other.correlation.clone())
        } else {
            (self.spreads.clone(), self.correlation.clone())
        };
        Self { spreads, correlation, ..self.within_runs().over(&other.within_runs()) }
    }

    /// Draws a value of each key, as `KEY=VALUE`.
    ///
    /// # Errors
    ///
    /// Says where the correlations contradict each other.
    pub fn draw(&self, rng: &mut ChaCha8Rng) -> Result<Vec<String>, String> {
        if self.correlation.is_none() {
            return Ok(self.spreads.iter().map(|s| [&s.key, "=", &s.draw(rng)].concat()).collect());
        }
        let own = DVector::from_fn(self.spreads.len(), |_, _| StandardNormal.sample(rng));
        let z = self.correlation.lower(&self.spreads).ok_or(CONTRADICT)? * own;
        Ok(self.spreads.iter().zip(z.iter()).map(|(s, z)| [&s.key, "=", &s.at_deviation(*z)].concat()).collect())
    }

    /// Makes a plan vary within its run.
    pub fn vary(&self, plan: &mut Plan, rng: &mut ChaCha8Rng) {
        if let Some(variation) = self.day_to_day {
            vary_evaporation(plan, variation, rng);
        }
        if let Some(chance) = self.missed.filter(|p| *p > 0.0) {
            miss_changes(plan, chance, rng);
            miss_readings(plan, chance, rng);
        }
        if let Some(deviation) = self.batch_error_psu.filter(|sd| *sd > 0.0) {
            miss_batches(plan, deviation, rng);
        }
        if let Some(kit) = self.kit_error {
            err_in_readings(plan, kit, rng);
        }
    }

    /// What is uncertain, a line each, as it would be given.
    #[must_use]
    pub fn lines(&self) -> Vec<String> {
        let Self { spreads, correlation, day_to_day, missed, batch_error_psu, kit_error } = self;
        let mut lines: Vec<String> = spreads.iter().map(|s| s.text.clone()).collect();
        let percent = |share: &f64| format!("{} %", trimmed(100.0 * share, 6));
        lines
            .extend(day_to_day.map(|day| {
                format!("day-to-day evaporation {}, {} d", percent(&day.cv), trimmed(day.persistence_d, 6))
            }));
        lines.extend(correlation.lines());
        lines.extend(missed.map(|p| format!("missed changes {}", percent(&p))));
        lines.extend(batch_error_psu.map(|sd| format!("batch error {} psu", trimmed(sd, 6))));
        lines.extend(
            kit_error.map(|sd| format!("readings that err: test kits {}, the meter by its noise", percent(&sd))),
        );
        lines
    }
}

/// Reads `25 %, 3 d`: a coefficient of variation, and how long a deviation lasts.
pub fn parse_day_to_day(text: &str) -> Result<DayToDay, String> {
    let (cv, time) = text.split_once(',').ok_or_else(|| format!("`{text}` does not say how long a deviation lasts"))?;
    let cv: Fraction = parse(cv, Gallon::Unstated).map_err(|e| e.to_string())?;
    let time: Duration = parse(time, Gallon::Unstated).map_err(|e| e.to_string())?;
    if !(0.0..=3.0).contains(&cv.ratio()) || time.days() <= 0.0 {
        return Err(format!("`{text}`: the variation is 0 to 300 %, and lasts longer than nothing"));
    }
    Ok(DayToDay { cv: cv.ratio(), persistence_d: time.days() })
}
