//! The least that an ensemble could be: six solutes and salt at constant volume, one exact step a day with two normal
//! draws, a change and a dose a week, quantiles of every day. No level, no evaporation that moves anything but what the
//! top-off brings, no bands, no scenario: what the ensemble of a real tank is measured against.

use brinecast::numerics::quantiles;
use rand::SeedableRng;
use rand::rngs::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

/// Members side by side.
const WIDE: usize = 128;
/// Days that are kept at a time.
const BLOCK: usize = 14;
const SOLUTES: usize = 6;
const LITRES: f64 = 400.0;

const START: [f64; SOLUTES] = [20.0, 0.1, 0.02, 2.0, 1.0, 0.005];
const LOAD: [f64; SOLUTES] = [600.0, 20.0, 40.0, 150.0, 30.0, 0.5];
const LOSS: [f64; SOLUTES] = [0.01, 0.02, 0.5, 0.05, 0.03, 0.001];
const UPTAKE: [f64; SOLUTES] = [0.0, 25.0, 0.0, 0.0, 0.0, 0.0];
const TOP_OFF: [f64; SOLUTES] = [1.0, 0.01, 0.0, 0.1, 0.5, 0.002];
const NEW: [f64; SOLUTES] = [0.2, 0.01, 0.0, 0.5, 0.1, 0.001];
const DOSE: [f64; SOLUTES] = [0.0, 20.0, 0.0, 200.0, 0.0, 0.0];

struct Group {
    amounts: [[f64; WIDE]; SOLUTES],
    salt: [f64; WIDE],
    keep: [[f64; WIDE]; SOLUTES],
    once: [[f64; WIDE]; SOLUTES],
    chance: ChaCha8Rng,
    rows: Vec<f64>,
}

impl Group {
    fn new(number: u64) -> Self {
        let mut chance = ChaCha8Rng::seed_from_u64(1);
        chance.set_stream(number);
        let mut group = Self {
            amounts: START.map(|c| [c * LITRES; WIDE]),
            salt: [14.35; WIDE],
            keep: [[0.0; WIDE]; SOLUTES],
            once: [[0.0; WIDE]; SOLUTES],
            chance,
            rows: Vec::new(),
        };
        for ((usual, keep), once) in LOSS.iter().zip(&mut group.keep).zip(&mut group.once) {
            for (keep, once) in keep.iter_mut().zip(once) {
                let z: f64 = StandardNormal.sample(&mut group.chance);
                let loss = usual * (0.2 * z).exp();
                (*keep, *once) = ((-loss).exp(), -(-loss).exp_m1() / loss);
            }
        }
        group
    }

    fn day(&mut self, day: usize) {
        let (mut feed, mut air) = ([0.0; WIDE], [0.0; WIDE]);
        for l in 0..WIDE {
            let draws: [f64; 2] = [StandardNormal.sample(&mut self.chance), StandardNormal.sample(&mut self.chance)];
            (feed[l], air[l]) = ((1.0 + 0.3 * draws[0]).max(0.0), 4.0 * (1.0 + 0.2 * draws[1]).max(0.0));
            self.salt[l] += 5e-5 * air[l];
        }
        for i in 0..SOLUTES {
            let (amounts, keep, once) = (&mut self.amounts[i], &self.keep[i], &self.once[i]);
            for l in 0..WIDE {
                let supply = LOAD[i] * feed[l] + TOP_OFF[i] * air[l] - UPTAKE[i];
                let amount = keep[l] * amounts[l] + once[l] * supply;
                amounts[l] = if amount > 0.0 { amount } else { 0.0 };
            }
        }
        if day.is_multiple_of(7) {
            for (amounts, new) in self.amounts.iter_mut().zip(NEW) {
                for amount in amounts {
                    *amount = 0.9 * *amount + 0.1 * LITRES * new;
                }
            }
            for salt in &mut self.salt {
                *salt = 0.9 * *salt + 1.435;
            }
        }
        if day % 7 == 3 {
            for (amounts, dose) in self.amounts.iter_mut().zip(DOSE) {
                for amount in amounts {
                    *amount += dose;
                }
            }
        }
    }

    fn days(&mut self, days: std::ops::Range<usize>) {
        self.rows.clear();
        for day in days {
            self.day(day);
            self.rows.extend(self.salt.iter().map(|salt| salt * (1.0 / 410.0)));
            for amounts in &self.amounts {
                self.rows.extend(amounts.iter().map(|amount| amount * (1.0 / LITRES)));
            }
        }
    }
}

/// Runs members for some days; gives the sum of all medians, so that nothing can be left out.
pub(crate) fn minimal(members: usize, days: usize) -> f64 {
    let mut groups: Vec<Group> = (0..members.div_ceil(WIDE) as u64).into_par_iter().map(Group::new).collect();
    let mut sum = 0.0;
    for begin in (0..days).step_by(BLOCK) {
        let block = begin..(begin + BLOCK).min(days);
        groups.par_iter_mut().for_each(|group| group.days(block.clone()));
        let cells = (0..block.len() * (SOLUTES + 1)).into_par_iter();
        let medians = cells.map_init(Vec::new, |cell: &mut Vec<f64>, k| {
            cell.clear();
            for group in &groups {
                cell.extend_from_slice(&group.rows[k * WIDE..(k + 1) * WIDE]);
            }
            cell.truncate(members);
            quantiles(cell, &[0.05, 0.5, 0.95])[1]
        });
        sum += medians.sum::<f64>();
    }
    sum
}
