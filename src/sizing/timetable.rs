//! The timetable of a batch, counted back from the hour of the change.

use crate::numerics::Elementary;
use crate::units::{Duration, Temperature};

/// A step of the work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Step {
    /// The purifier runs.
    Water,
    /// Salt is added slowly into moving water.
    Salt,
    /// It dissolves and gases exchange; the pump runs.
    Mix,
    /// Read, correct, read again.
    Correct,
    /// The heater runs.
    Heat,
    /// Read just before use.
    Release,
}

impl Step {
    /// Its name for programs.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Water => "make",
            Self::Salt => "add",
            Self::Mix => "dissolve",
            Self::Correct | Self::Release => "read",
            Self::Heat => "heat",
        }
    }

    /// Whether it begins by itself when the step before it ends, and needs no hand.
    #[must_use]
    pub const fn begins_by_itself(self) -> bool {
        matches!(self, Self::Mix)
    }

    /// What is done.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Water => "make purified water",
            Self::Salt => "add the first portion of mix slowly into moving water",
            Self::Mix => "dissolve and aerate, pump on, until clear and pH below 8.4 (NBS)",
            Self::Correct => "read salinity, add more mix, read again",
            Self::Heat => "heat to the tank's temperature, pump on",
            Self::Release => "read salinity and temperature, approve the batch",
        }
    }
}

/// A step with its time before the change.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Task {
    /// What.
    pub step: Step,
    /// Begins so long before the change \[h\].
    pub before_h: f64,
    /// Takes \[h\].
    pub hours: f64,
}

/// Kilograms of mix that go into moving water in an hour without clouding: 6 (common practice, no source).
const SALTING_KG_PER_H: f64 = 6.0;
/// Share of the salt that may still be undissolved.
const UNDISSOLVED: f64 = 0.01;
/// One round of read, dose and stir \[h\] (common practice, no source).
const ROUND_H: f64 = 0.75;
/// Reading before use \[h\].
const RELEASE_H: f64 = 0.25;

/// Hours until 99 % is dissolved: first order, 1/h at 25 °C and 2.5 times slower at 5 °C (a modelling
/// choice; the trade says from 15 minutes to a day).
fn dissolving_h(temperature: Temperature) -> f64 {
    let per_hour = 2.5f64.to_power((temperature.celsius() - 25.0) / 20.0);
    -UNDISSOLVED.to_ln() / per_hour
}

/// Hours as a clock is read: up to the next quarter of an hour, and to the next whole hour from four on. None of these
/// times is known better.
fn up_to_the_clock(hours: f64) -> f64 {
    let rounded = if hours < 4.0 { (hours * 4.0 - 1e-9).ceil() / 4.0 } else { (hours - 1e-9).ceil() };
    rounded.max(0.0)
}

/// The steps in order, each as long as a clock shows it; heating follows mixing where `heating` is not nil.
#[must_use]
pub fn timetable(
    water: Duration,
    salt_mix_kg: f64,
    mixing_temperature: Temperature,
    gas_exchange_h: f64,
    rounds: u32,
    heating: Duration,
) -> Vec<Task> {
    let mix_h = dissolving_h(mixing_temperature).max(gas_exchange_h);
    let steps = [
        (Step::Water, water.days() * 24.0),
        (Step::Salt, (salt_mix_kg / SALTING_KG_PER_H).max(0.25)),
        (Step::Mix, mix_h),
        (Step::Correct, ROUND_H * f64::from(rounds.saturating_sub(1))),
        (Step::Heat, heating.days() * 24.0),
        (Step::Release, RELEASE_H),
    ]
    .map(|(step, hours)| (step, up_to_the_clock(hours)));
    let mut before: f64 = steps.iter().map(|(_, h)| h).sum();
    let mut tasks = Vec::new();
    for (step, hours) in steps {
        if hours > 0.0 {
            tasks.push(Task { step, before_h: before, hours });
        }
        before -= hours;
    }
    tasks
}
