//! Many members of one plan: quantiles by day, the chance that a band is left, and when.

use rand::rngs::ChaCha8Rng;
use rand_distr::{Bernoulli, Distribution, StandardNormal};
use rayon::prelude::*;

use crate::engine::{EngineError, Observer, Row, Segment, Simulation, Statistics};
use crate::model::{Evaporation, Plan, Schedule, Timing};
use crate::units::Duration;

/// Quantiles that are given.
pub const QUANTILES: [f64; 5] = [0.05, 0.25, 0.50, 0.75, 0.95];

/// Day-to-day variation of evaporation: lognormal with mean 1 and persistence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayToDay {
    /// Coefficient of variation.
    pub cv: f64,
    /// Days over which a deviation falls to 1/e.
    pub persistence_d: f64,
}

/// What one member left behind.
#[derive(Clone, Debug)]
pub struct Member {
    /// `values[quantity][day]`: salinity, then the solutes, on the grid.
    pub values: Vec<Vec<f64>>,
    /// When each band was first left, in the order of the plan's bands \[d\].
    pub left_at: Vec<Option<f64>>,
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
    plan.regime.evaporation = Evaporation::Daily(days);
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

/// Values on the grid (the first row at or after each time, so just before an event), and band crossings.
struct Sampler {
    every: f64,
    next: usize,
    values: Vec<Vec<f64>>,
    statistics: Statistics,
}

impl Observer for Sampler {
    fn row(&mut self, row: &Row<'_>) {
        self.statistics.row(row);
        while row.time_d >= self.every * self.next as f64 - 1e-9 {
            self.values[0].push(row.salinity_psu);
            for (column, amount) in self.values[1..].iter_mut().zip(&row.amounts[2..]) {
                column.push(amount / row.volume_l);
            }
            self.next += 1;
        }
    }
    fn looks_inside(&self) -> bool {
        true
    }
    fn segment(&mut self, segment: &mut Segment<'_>) {
        self.statistics.segment(segment);
    }
}

/// Runs one member.
pub fn run_member(plan: &Plan) -> Result<Member, EngineError> {
    let n = plan.species.len();
    let every = plan.output_every.map_or(1.0, Duration::days);
    let mut sampler =
        Sampler { every, next: 0, values: vec![Vec::new(); n + 1], statistics: Statistics::new(n, &plan.bands) };
    let mut simulation = Simulation::new(plan)?;
    simulation.show("", &mut sampler);
    simulation.run_until(plan.horizon.days(), &mut sampler)?;
    let left_at = plan
        .bands
        .iter()
        .map(|band| sampler.statistics.watches.iter().find(|w| w.of == Some(band.of)).and_then(|w| w.left_at_d))
        .collect();
    Ok(Member { values: sampler.values, left_at })
}

/// Runs members in parallel, in order; `plan_of` makes the plan of a member.
pub fn run_members<E: Send>(
    members: std::ops::Range<u64>,
    plan_of: impl Fn(u64) -> Result<Plan, E> + Sync,
    engine_error: impl Fn(EngineError) -> E + Sync,
) -> Result<Vec<Member>, E> {
    members.into_par_iter().map(|member| run_member(&plan_of(member)?).map_err(&engine_error)).collect()
}

/// Quantiles of a quantity by day: `[quantile][day]`. A member whose tank ran empty counts until then.
#[must_use]
pub fn quantiles(members: &[Member], quantity: usize) -> Vec<Vec<f64>> {
    let days = members.iter().map(|m| m.values[quantity].len()).max().unwrap_or(0);
    let mut bands = vec![Vec::with_capacity(days); QUANTILES.len()];
    let mut column: Vec<f64> = Vec::with_capacity(members.len());
    for day in 0..days {
        column.clear();
        column.extend(members.iter().filter_map(|m| m.values[quantity].get(day)));
        column.sort_unstable_by(f64::total_cmp);
        for (band, q) in bands.iter_mut().zip(QUANTILES) {
            band.push(quantile(&column, q));
        }
    }
    bands
}

/// Quantile of sorted values, straight between them (type 7 of Hyndman & Fan 1996, Am. Stat. 50:361).
#[must_use]
pub fn quantile(sorted: &[f64], q: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else { return f64::NAN };
    let place = q * last as f64;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and the last index")]
    let below = place.floor() as usize;
    let above = (below + 1).min(last);
    sorted[below] + (place - below as f64) * (sorted[above] - sorted[below])
}
