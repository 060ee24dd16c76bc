//! All that is uncertain in a scenario.

use rand::rngs::ChaCha8Rng;

use super::{DayToDay, Spread, miss_batches, miss_changes, vary_evaporation};
use crate::model::Plan;
use crate::units::{Duration, Fraction, Gallon, parse};

/// Keys that are drawn once for a member, and what varies within its run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Uncertainty {
    /// Spreads on keys.
    pub spreads: Vec<Spread>,
    /// Day-to-day variation of evaporation.
    pub day_to_day: Option<DayToDay>,
    /// Chance that a scheduled change is missed.
    pub missed: f64,
    /// Standard deviation of a batch's salinity \[psu\].
    pub batch_error_psu: f64,
}

impl Uncertainty {
    /// Whether nothing is uncertain.
    #[must_use]
    pub fn is_none(&self) -> bool {
        self.spreads.is_empty() && self.day_to_day.is_none() && self.missed == 0.0 && self.batch_error_psu == 0.0
    }

    /// Puts one on top of the other: spreads of the same key, and what is given, replace.
    #[must_use]
    pub fn over(mut self, below: &Self) -> Self {
        let kept: Vec<Spread> =
            below.spreads.iter().filter(|s| self.spreads.iter().all(|own| own.key != s.key)).cloned().collect();
        self.spreads = [kept, self.spreads].concat();
        self.day_to_day = self.day_to_day.or(below.day_to_day);
        if self.missed == 0.0 {
            self.missed = below.missed;
        }
        if self.batch_error_psu == 0.0 {
            self.batch_error_psu = below.batch_error_psu;
        }
        self
    }

    /// Makes a plan vary within its run.
    pub fn vary(&self, plan: &mut Plan, rng: &mut ChaCha8Rng) {
        if let Some(variation) = self.day_to_day {
            vary_evaporation(plan, variation, rng);
        }
        if self.missed > 0.0 {
            miss_changes(plan, self.missed, rng);
        }
        if self.batch_error_psu > 0.0 {
            miss_batches(plan, self.batch_error_psu, rng);
        }
    }

    /// What is uncertain, a line each, as it would be given.
    #[must_use]
    pub fn lines(&self) -> Vec<String> {
        let mut lines: Vec<String> = self.spreads.iter().map(|s| s.text.clone()).collect();
        if let Some(day) = self.day_to_day {
            lines.push(format!("day-to-day evaporation {} %, {} d", 100.0 * day.cv, day.persistence_d));
        }
        if self.missed > 0.0 {
            lines.push(format!("missed changes {} %", 100.0 * self.missed));
        }
        if self.batch_error_psu > 0.0 {
            lines.push(format!("batch error {} psu", self.batch_error_psu));
        }
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
