//! Chains of reactions at constant volume in closed form: the exponential of the reaction matrix with its integrals.
//!
//! The amounts of a chain obey `x' = A x + p` with a triangular `A`: losses and dilution on the diagonal, what is made from
//! what beside it. Over a time
//! ```text
//! x(t) = E x(0) + F p,    ∫x dt = F x(0) + G p,    E = e^{At},  F = ∫ e^{As} ds,  G = ∫ (t − s) e^{As} ds
//! ```
//! The three are summed as series over a time so short that nothing cancels, and doubled from there:
//! ```text
//! E(2h) = E E,    F(2h) = F + E F,    G(2h) = G + h F + E G
//! ```
//! What doubles is never negative, and the diagonals are put in exactly at each level (as for any triangular matrix: Higham
//! 2008, Functions of Matrices, section 10.3), so that rounding grows by the number of doublings and not with the time:
//! rates of thousands a day and rates that all but agree are at round-off alike.

use super::Kinetics;
use crate::numerics::{Elementary, Recent, exprel, exprel2};

/// Largest exponent of the series' time.
const SHORT: f64 = 0.5;
/// Stretches that are kept: a regime has a handful of lengths, each looked into at a dozen places.
const KEPT: usize = 128;
/// Terms of the series: the next is below 1e-19.
const TERMS: usize = 16;

/// The chains over the stretches of time that were asked for last.
#[derive(Clone, Debug, Default)]
pub(super) struct Chains(Recent<Key, Chain, KEPT>);

/// What a stretch hangs on.
#[derive(Clone, Debug)]
struct Key {
    dilution: u64,
    days: u64,
    at_zero: Vec<bool>,
}

impl Chains {
    /// Those of a reaction network over `days`, diluted at `dilution` \[1/d\], without the solutes that are held at zero.
    pub(super) fn over(&mut self, kinetics: &Kinetics, at_zero: &[bool], dilution: f64, days: f64) -> &Chain {
        let bits = (dilution.to_bits(), days.to_bits());
        self.0.find_or(
            |key| (key.dilution, key.days) == bits && key.at_zero == at_zero,
            || {
                let key = Key { dilution: bits.0, days: bits.1, at_zero: at_zero.to_vec() };
                (key, Chain::new(kinetics, at_zero, dilution, days))
            },
        )
    }
}

/// What a stretch of time does to the solutes of all chains, in their order.
#[derive(Clone, Debug)]
pub(super) struct Chain {
    /// Which solutes, makers before what they make.
    pub(super) solutes: Vec<usize>,
    /// `E`, `F` and `G`, row by row.
    keep: Vec<f64>,
    once: Vec<f64>,
    twice: Vec<f64>,
}

impl Chain {
    /// That of a reaction network over `days`, diluted at `dilution` \[1/d\], without the solutes that are held at zero.
    pub(super) fn new(kinetics: &Kinetics, at_zero: &[bool], dilution: f64, days: f64) -> Self {
        let solutes: Vec<usize> =
            kinetics.order.iter().copied().filter(|i| kinetics.chained[*i] && !at_zero[*i]).collect();
        let n = solutes.len();
        let mut rates = vec![0.0; n * n];
        for (row, &i) in solutes.iter().enumerate() {
            rates[row * n + row] = -(kinetics.loss[i] + dilution);
            for (from, rate) in &kinetics.made_from[i] {
                if let Some(column) = solutes.iter().position(|s| s == from) {
                    rates[row * n + column] += rate;
                }
            }
        }
        let diagonal: Vec<f64> = (0..n).map(|i| rates[i * n + i]).collect();
        let fastest = diagonal.iter().fold(0.0, |m: f64, d| m.max(-d));
        #[expect(clippy::cast_possible_truncation, reason = "a number of doublings below 1100")]
        let doublings = (fastest * days / SHORT).to_log2().ceil().max(0.0) as i32;
        let mut h = days / 2f64.powi(doublings);
        let mut chain = Self::series(solutes, &rates, h);
        chain.exact(&diagonal, h);
        for _ in 0..doublings {
            chain.double(h);
            h *= 2.0;
            chain.exact(&diagonal, h);
        }
        chain
    }

    /// The three as series over a short time.
    fn series(solutes: Vec<usize>, rates: &[f64], h: f64) -> Self {
        let n = solutes.len();
        let unit: Vec<f64> = (0..n * n).map(|k| if k % (n + 1) == 0 { 1.0 } else { 0.0 }).collect();
        let mut chain = Self { solutes, keep: unit.clone(), once: vec![0.0; n * n], twice: vec![0.0; n * n] };
        // (A h)^k / k!
        let mut power = unit;
        for k in 0..TERMS {
            let order = k as f64;
            for (place, p) in power.iter().enumerate() {
                chain.once[place] += h / (order + 1.0) * p;
                chain.twice[place] += h * h / ((order + 1.0) * (order + 2.0)) * p;
            }
            power = product(n, rates, &power).into_iter().map(|p| p * h / (order + 1.0)).collect();
            for (keep, p) in chain.keep.iter_mut().zip(&power) {
                *keep += p;
            }
        }
        chain
    }

    /// From a time to twice as much.
    fn double(&mut self, h: f64) {
        let n = self.solutes.len();
        let (kept_once, kept_twice) = (product(n, &self.keep, &self.once), product(n, &self.keep, &self.twice));
        for (place, (more, twice)) in kept_once.into_iter().zip(kept_twice).enumerate() {
            self.twice[place] += h * self.once[place] + twice;
            self.once[place] += more;
        }
        self.keep = product(n, &self.keep, &self.keep);
    }

    /// Puts the diagonals in as they are.
    fn exact(&mut self, diagonal: &[f64], h: f64) {
        let n = self.solutes.len();
        for (i, rate) in diagonal.iter().enumerate() {
            let y = rate * h;
            self.keep[i * n + i] = y.to_exp();
            self.once[i * n + i] = h * exprel(y);
            self.twice[i * n + i] = h * h * exprel2(y);
        }
    }

    /// What solute number `row` of the chain comes to, and its integral, from what each was and what is supplied of each.
    pub(super) fn after(&self, row: usize, before: impl Fn(usize) -> f64, supply: impl Fn(usize) -> f64) -> (f64, f64) {
        let n = self.solutes.len();
        let (mut amount, mut integral) = (0.0, 0.0);
        for (column, &j) in self.solutes.iter().enumerate().take(row + 1) {
            let place = row * n + column;
            let (x, p) = (before(j), supply(j));
            amount += self.keep[place] * x + self.once[place] * p;
            integral += self.once[place] * x + self.twice[place] * p;
        }
        (amount, integral)
    }
}

/// The product of two lower triangles.
fn product(n: usize, a: &[f64], b: &[f64]) -> Vec<f64> {
    let mut c = vec![0.0; n * n];
    for row in 0..n {
        for column in 0..=row {
            c[row * n + column] = (column..=row).map(|k| a[row * n + k] * b[k * n + column]).sum();
        }
    }
    c
}

#[cfg(test)]
mod tests {
    use super::Chain;
    use crate::model::Kinetics;

    fn network(loss: &[f64], made: &[f64]) -> Kinetics {
        let n = loss.len();
        Kinetics {
            loss: loss.to_vec(),
            removal: vec![0.0; n],
            made_from: (0..n).map(|i| if i > 0 { vec![(i - 1, made[i - 1])] } else { Vec::new() }).collect(),
            uptake: vec![0.0; n],
            calcified: vec![0.0; n],
            order: (0..n).collect(),
            taking: Vec::new(),
            chained: vec![true; n],
            coupling: None,
        }
    }

    struct Case {
        loss: &'static [f64],
        made: &'static [f64],
        dilution: f64,
        from: &'static [f64],
        supply: &'static [f64],
        days: f64,
        amounts: &'static [f64],
        integrals: &'static [f64],
    }

    /// The exponential of the same matrix with 60 digits, by mpmath 1.3 (`expm` of the matrix with its integrals beside it):
    /// the chain of Bateman, a stiff one, rates of 900/d that all but agree over three years, three equal rates, and rates
    /// of 5000/d beside one of 0.001/d.
    const CASES: [Case; 5] = [
        Case {
            loss: &[0.5, 0.8, 0.0],
            made: &[0.5, 0.8],
            dilution: 0.0,
            from: &[4.0, 0.0, 0.0],
            supply: &[0.0, 0.0, 0.0],
            days: 10.0,
            amounts: &[0.0269517879963418684, 0.0426832291412196964, 3.93036498286243844],
            integrals: &[7.94609642400731626, 4.91295622857804777, 27.140947347414636],
        },
        Case {
            loss: &[300.0, 15.0, 0.0],
            made: &[300.0, 15.0],
            dilution: 0.02,
            from: &[1.0, 2.0, 30.0],
            supply: &[4.0, 0.0, 0.5],
            days: 1.0,
            amounts: &[0.0133324445036997533, 0.266294662893325872, 36.5222276177059563],
            integrals: &[0.0166211171105136332, 0.447406156475417051, 34.4432364712649706],
        },
        Case {
            loss: &[900.0, 900.0000001, 0.02],
            made: &[900.0, 880.0],
            dilution: 0.01,
            from: &[0.05, 0.1, 40.0],
            supply: &[25.0, 0.0, 1.0],
            days: 1100.0,
            amounts: &[0.0277774691392317863, 0.0277771605010287581, 848.130041363506456],
            integrals: &[30.5552407445815722, 30.5549814889916966, 906008.455631639532],
        },
        Case {
            loss: &[0.3, 0.3, 0.3],
            made: &[0.3, 0.3],
            dilution: 0.0,
            from: &[5.0, 1.0, 0.0],
            supply: &[1.0, 2.0, 3.0],
            days: 7.0,
            amounts: &[3.53742738042163664, 9.32648964460859972, 15.6864723147887125],
            integrals: &[28.2085753985945456, 47.1202765832325472, 64.8320355339368397],
        },
        Case {
            loss: &[5000.0, 0.001, 2000.0, 0.0],
            made: &[22000.0, 0.001, 1999.0],
            dilution: 0.003,
            from: &[1e-3, 20.0, 1e-4, 3.0],
            supply: &[2.0, 0.1, 0.0, 0.0],
            days: 30.0,
            amounts: &[0.000399999760000144, 269.342629245091519, 0.000134669156961781735, 7.01535188564690585],
            integrals: &[0.01200011279998032, 4414.96308861888019, 0.00220746089853961144, 132.454150177925803],
        },
    ];

    #[test]
    fn stiff_and_nearly_equal_chains_are_those_of_sixty_digits() {
        for case in CASES {
            let kinetics = network(case.loss, case.made);
            let chain = Chain::new(&kinetics, &vec![false; case.loss.len()], case.dilution, case.days);
            for row in 0..case.loss.len() {
                let (amount, integral) = chain.after(row, |j| case.from[j], |j| case.supply[j]);
                let off = [amount / case.amounts[row] - 1.0, integral / case.integrals[row] - 1.0];
                assert!(off.iter().all(|off| off.abs() < 1e-13), "{:?}: {row}: {off:?}", case.loss);
            }
        }
    }

    #[test]
    fn what_is_held_at_zero_makes_nothing() {
        let kinetics = network(&[0.5, 0.8, 0.0], &[0.5, 0.8]);
        let chain = Chain::new(&kinetics, &[false, true, false], 0.0, 2.0);
        assert_eq!(chain.solutes, [0, 2]);
        let (amount, _) = chain.after(1, |_| 3.0, |_| 0.0);
        assert!((amount - 3.0).abs() < 1e-15, "{amount}");
    }
}
