//! What varies within a run: evaporation from day to day, changes that are missed, batches that are off.

use rand::rngs::ChaCha8Rng;
use rand_distr::{Bernoulli, Distribution, Normal, StandardNormal};

use crate::model::{Evaporation, Plan, Schedule, Timing};

/// Day-to-day variation of evaporation: lognormal with mean 1 and persistence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayToDay {
    /// Coefficient of variation.
    pub cv: f64,
    /// Days over which a deviation falls to 1/e.
    pub persistence_d: f64,
}

/// Makes a plan's evaporation vary from day to day.
pub fn vary_evaporation(plan: &mut Plan, variation: DayToDay, rng: &mut ChaCha8Rng) {
    let sigma = variation.cv.powi(2).ln_1p().sqrt();
    let keep = (-1.0 / variation.persistence_d.max(1e-9)).exp();
    let mut z: f64 = StandardNormal.sample(rng);
    let mut days = Vec::new();
    let mut day = 0.0;
    while day < plan.horizon.days() {
        days.push(plan.regime.evaporation.on_day(day) * (sigma * z - 0.5 * sigma * sigma).exp());
        let fresh: f64 = StandardNormal.sample(rng);
        z = keep * z + (1.0 - keep * keep).sqrt() * fresh;
        day += 1.0;
    }
    plan.regime.evaporation = Evaporation::Daily(days.into());
}

/// Leaves out each scheduled change with a probability.
pub fn miss_changes(plan: &mut Plan, chance: f64, rng: &mut ChaCha8Rng) {
    let Ok(missed) = Bernoulli::new(chance) else { return };
    for change in &mut plan.regime.changes {
        if let Timing::Scheduled(schedule) = &change.timing {
            let mut times = schedule.between(-1.0, plan.horizon.days());
            times.retain(|_| !missed.sample(rng));
            change.timing = Timing::Scheduled(Schedule::Listed(times));
        }
    }
}

/// Makes every batch of new water miss its salinity by an error of its own, normal with this deviation
/// \[psu\]. A change that waits for a reading gets its errors in the order in which it comes.
pub fn miss_batches(plan: &mut Plan, deviation_psu: f64, rng: &mut ChaCha8Rng) {
    let Ok(error) = Normal::new(0.0, deviation_psu) else { return };
    let (horizon, daily) = (plan.horizon.days(), plan.horizon.days().ceil());
    for change in &mut plan.regime.changes {
        let count = match &change.timing {
            Timing::Scheduled(schedule) => schedule.between(-1.0, horizon).len(),
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days of a run")]
            Timing::Triggered(_) => daily as usize,
        };
        change.batch_errors_psu = (0..count).map(|_| error.sample(rng)).collect();
    }
}
