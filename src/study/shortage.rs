//! The chance that a store runs dry, for every size at once.

use rand::RngExt;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

use super::stream;
use super::vary::Weather;
use crate::model::DayToDay;
use crate::numerics::{Elementary, store_from_full};

/// What a store must serve, day by day, and what may go wrong.
#[derive(Clone, Debug)]
pub struct Demand {
    /// Top-off expected \[L/d\].
    pub top_off_l: Vec<f64>,
    /// Top-off of tanks whose evaporation is not known well, besides: what is expected \[L/d\], and the deviation of the logarithm of
    /// its rate, drawn once for a member.
    pub unsure_l: Vec<(Vec<f64>, f64)>,
    /// Fresh water for the changes of each day, a number a change \[L\].
    pub changes_l: Vec<Vec<f64>>,
    /// What is made on each day, planned outages taken off \[L\].
    pub made_l_per_d: Vec<f64>,
    /// Variation of evaporation.
    pub day_to_day: DayToDay,
    /// Chance that a change is missed; it is then made up on the next day that is not.
    pub missed: f64,
    /// Chance a day that the purifier fails, and how long it stands \[d\].
    pub outage: (f64, f64),
    /// Chance a day of an emergency, and the litres it takes.
    pub emergency: (f64, f64),
}

/// The store that each member would have needed, beginning full \[L\], smallest first. The chance of shortage
/// at a size is the share of the members that needed more.
#[must_use]
pub fn stores_needed(demand: &Demand, members: u64, seed: u64) -> Vec<f64> {
    let mut needed: Vec<f64> = (0..members).into_par_iter().map(|m| store_needed(demand, seed, m)).collect();
    needed.sort_unstable_by(f64::total_cmp);
    needed
}

fn store_needed(demand: &Demand, seed: u64, member: u64) -> f64 {
    let mut rng = stream(seed, member);
    let mut weather = Weather::new(demand.day_to_day, &mut rng);
    let times: Vec<f64> = demand
        .unsure_l
        .iter()
        .map(|(_, deviation)| {
            let z: f64 = StandardNormal.sample(&mut rng);
            (deviation * z).to_exp()
        })
        .collect();
    let (mut asked, mut made) = (Vec::new(), Vec::new());
    let (mut owed, mut standing) = (0.0, 0.0);
    let days = demand.top_off_l.iter().zip(&demand.changes_l).zip(&demand.made_l_per_d);
    for (day, ((top_off, changes), makes)) in days.enumerate() {
        let unsure = demand.unsure_l.iter().zip(&times).map(|((litres, _), times)| litres[day] * times);
        let mut today = (top_off + unsure.sum::<f64>()) * weather.next(&mut rng);
        let mut done = 0.0;
        for litres in changes {
            if demand.missed > 0.0 && rng.random::<f64>() < demand.missed {
                owed += litres;
            } else {
                done += litres;
            }
        }
        // What was missed is made up together with the next that is not.
        if done > 0.0 {
            done += owed;
            owed = 0.0;
        }
        today += done;
        if demand.emergency.0 > 0.0 && rng.random::<f64>() < demand.emergency.0 {
            today += demand.emergency.1;
        }
        if standing <= 0.0 && demand.outage.0 > 0.0 && rng.random::<f64>() < demand.outage.0 {
            standing = demand.outage.1;
        }
        let running: f64 = 1.0 - f64::min(standing.max(0.0), 1.0);
        standing -= 1.0;
        asked.push(today);
        made.push(running * makes);
    }
    store_from_full(&asked, &made)
}

/// The chance that a store of a size runs dry, from [`stores_needed`].
#[must_use]
pub fn shortage_chance(needed: &[f64], size: f64) -> f64 {
    (needed.len() - needed.partition_point(|n| *n <= size)) as f64 / needed.len() as f64
}
