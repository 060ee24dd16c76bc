//! What varies within a run: evaporation from day to day, changes that are missed, batches that are off.

use crate::numerics::Elementary;
use rand::rngs::ChaCha8Rng;
use rand_distr::{Bernoulli, Distribution, Normal, StandardNormal};

use crate::model::{DayToDay, Evaporation, Plan, Schedule, Timing};

/// Evaporation going from day to day: a factor for each, in turn.
pub(super) struct Weather {
    mean: f64,
    deviation: f64,
    /// Share of yesterday's deviation in today's, and of a fresh one.
    kept: f64,
    fresh: f64,
    z: f64,
}

impl Weather {
    pub(super) fn new(variation: DayToDay, rng: &mut ChaCha8Rng) -> Self {
        let kept = variation.kept();
        let (mean, deviation) = variation.logarithm();
        Self { mean, deviation, kept, fresh: (1.0 - kept * kept).sqrt(), z: StandardNormal.sample(rng) }
    }

    /// The factor of the next day.
    pub(super) fn next(&mut self, rng: &mut ChaCha8Rng) -> f64 {
        let z = self.next_z(rng);
        self.factor(z)
    }

    #[inline]
    fn next_z(&mut self, rng: &mut ChaCha8Rng) -> f64 {
        let fresh: f64 = StandardNormal.sample(rng);
        let next = self.kept * self.z + self.fresh * fresh;
        std::mem::replace(&mut self.z, next)
    }

    #[inline]
    fn factor(&self, z: f64) -> f64 {
        (self.deviation * z + self.mean).to_exp()
    }
}

/// Makes a plan's evaporation vary from day to day.
pub fn vary_evaporation(plan: &mut Plan, variation: DayToDay, rng: &mut ChaCha8Rng) {
    let mut weather = Weather::new(variation, rng);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days of a run")]
    let days = plan.horizon.days().ceil() as usize;
    // First all draws, then all factors: in one loop each would wait for the other.
    let mut varied: Vec<f64> = (0..days).map(|_| weather.next_z(rng)).collect();
    for z in &mut varied {
        *z = weather.factor(*z);
    }
    // The weather is the same whatever is done in a period.
    for regime in plan.regimes_mut() {
        let evaporation = &regime.evaporation;
        let same = (!evaporation.varies()).then(|| evaporation.on_day(0.0));
        let days = varied.iter().enumerate();
        let rates = days.map(|(day, factor)| same.unwrap_or_else(|| evaporation.on_day(day as f64)) * factor);
        regime.evaporation = Evaporation::Daily(rates.collect());
    }
}

/// Leaves out each scheduled change with a probability.
pub fn miss_changes(plan: &mut Plan, chance: f64, rng: &mut ChaCha8Rng) {
    let Ok(missed) = Bernoulli::new(chance) else { return };
    let horizon = plan.horizon.days();
    for change in plan.regimes_mut().flat_map(|r| &mut r.changes) {
        if let Timing::Scheduled(schedule) = &change.timing {
            let mut times = schedule.between(-1.0, horizon);
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
    for change in plan.regimes_mut().flat_map(|r| &mut r.changes) {
        let count = match &change.timing {
            Timing::Scheduled(schedule) => schedule.between(-1.0, horizon).len(),
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days of a run")]
            Timing::Triggered(_) => daily as usize,
        };
        change.batch_errors_psu = (0..count).map(|_| error.sample(rng)).collect();
    }
}

/// Leaves out each reading by which something is done with a probability.
pub fn miss_readings(plan: &mut Plan, chance: f64, rng: &mut ChaCha8Rng) {
    let Ok(missed) = Bernoulli::new(chance) else { return };
    let horizon = plan.horizon.days();
    for regime in plan.regimes_mut().filter(|regime| regime.goes_by_readings()) {
        let Some(reading) = &mut regime.reading else { continue };
        let mut times = reading.schedule.between(-1.0, horizon);
        times.retain(|_| !missed.sample(rng));
        reading.schedule = Schedule::Listed(times);
    }
}

/// Makes readings err: the meter by its own noise, test kits by a share, both normal.
pub fn err_in_readings(plan: &mut Plan, kit: f64, rng: &mut ChaCha8Rng) {
    let horizon = plan.horizon.days();
    for regime in plan.regimes_mut() {
        let noise = regime.meter.noise_psu();
        let Some(reading) = &mut regime.reading else { continue };
        let count = reading.schedule.between(-1.0, horizon).len();
        let mut draw = || -> f64 { StandardNormal.sample(rng) };
        reading.errors = (0..count).map(|_| (noise * draw(), (kit * draw()).max(-1.0))).collect();
    }
}
