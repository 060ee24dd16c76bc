//! Amounts that react while the volume moves: a power series in time.
//!
//! With `V(t) = V0 + a t` the equation of the step, times `V/V0`, has polynomials for factors. Over a piece of `h` days, with
//! `s = t/h`, `z = a h/V0`, `κ = k h`, `θ = q h/V0`, and `m_n` the n-th coefficient of `h` times what comes in and is made,
//! `x(s) = Σ c_n s^n` has
//! ```text
//! (n+1) c_{n+1} = m_n + z m_{n−1} − (κ + θ + z n) c_n − z κ c_{n−1}
//! ```
//! so that `x(1) = Σ c_n` and `∫x dt = h Σ c_n/(n+1)`. It converges where the volume does not change by as much as itself;
//! within [`LONGEST_EXPONENT`] and [`LONGEST_SHARE`] some thirty terms are at round-off, and over an hour five.

use super::{Amounts, Kinetics};
use crate::numerics::ONE_OVER;

/// Largest `κ + θ` of a piece: beyond it terms of different sign would cost digits.
pub(super) const LONGEST_EXPONENT: f64 = 1.0;
/// Largest `z` of a piece.
pub(super) const LONGEST_SHARE: f64 = 0.2;
/// More terms than any piece needs.
const TERMS: usize = 48;
/// Share of the largest term below which terms are nothing; two in a row, for one may be nothing by chance.
const NOTHING: f64 = 1e-18;

/// What is left of an amount that does not react and what a supply of one a piece comes to, over a piece across which the
/// volume changes by a share `z` and is renewed by a share `θ`, both small.
pub(super) fn unreacted(z: f64, theta: f64) -> (f64, f64) {
    let (mut of_keep, mut of_gain) = (-theta, -0.5 * theta);
    let (mut keep, mut gain) = (1.0 + of_keep, 1.0 + of_gain);
    for n in 1..TERMS - 1 {
        of_keep *= -(theta + z * n as f64) * ONE_OVER[n + 1];
        of_gain *= -(theta + z * (n + 1) as f64) * ONE_OVER[n + 2];
        keep += of_keep;
        gain += of_gain;
        if of_keep.abs() + of_gain.abs() < NOTHING {
            break;
        }
    }
    (keep, gain)
}

/// The series of each solute over the piece in hand.
#[derive(Clone, Debug)]
pub(super) struct Series {
    terms: Vec<[f64; TERMS]>,
    /// Terms that are not nothing.
    counts: Vec<usize>,
    /// `∫x dt` over the piece.
    areas: Vec<f64>,
}

/// A piece of a stretch.
pub(super) struct Piece<'a> {
    /// Volume at its begin \[L\], its change and tank water leaving \[L/d\].
    pub(super) volume: f64,
    /// See above.
    pub(super) drift: f64,
    /// See above.
    pub(super) out: f64,
    /// Supply, uptake not counted.
    pub(super) supply: &'a Amounts,
    /// Solutes that an uptake holds at zero.
    pub(super) at_zero: &'a [bool],
    /// Its length \[d\].
    pub(super) days: f64,
}

impl Series {
    /// Room for so many solutes.
    pub(super) fn new(solutes: usize) -> Self {
        Self { terms: vec![[0.0; TERMS]; solutes], counts: vec![0; solutes], areas: vec![0.0; solutes] }
    }

    /// Moves the solutes that react over a piece, in place, and adds to their integrals.
    pub(super) fn over(&mut self, piece: &Piece<'_>, kinetics: &Kinetics, amounts: &mut Amounts, integral: &mut [f64]) {
        let h = piece.days;
        let share = h / piece.volume;
        let (z, theta) = (piece.drift * share, piece.out * share);
        for &i in &kinetics.order {
            if piece.at_zero[i] {
                (self.counts[i], self.areas[i]) = (0, 0.0);
                amounts.solutes_mut()[i] = 0.0;
                continue;
            }
            let start = amounts.solutes()[i];
            let supply = piece.supply.solutes()[i] - kinetics.uptake[i];
            let kappa = kinetics.loss[i] * h;
            self.expand(i, &kinetics.made_from[i], (start, supply, h), (z, theta, kappa));
            let terms = &self.terms[i][..self.counts[i]];
            // The small ones first.
            let (mut end, mut area) = (0.0, 0.0);
            for (n, term) in terms.iter().enumerate().rev() {
                end += term;
                area += term * ONE_OVER[n + 1];
            }
            let area = h * area;
            // Where no water leaves, the books have nothing to lay a rounding on: the end is their balance.
            if piece.out == 0.0 {
                let made: f64 = kinetics.made_from[i].iter().map(|(j, rate)| rate * self.areas[*j]).sum();
                end = start + (h * supply + made) - kinetics.loss[i] * area;
            }
            self.areas[i] = area;
            amounts.solutes_mut()[i] = end;
            integral[i] += area;
        }
    }

    /// The terms of one solute.
    fn expand(
        &mut self,
        i: usize,
        made_from: &[(usize, f64)],
        (start, supply, h): (f64, f64, f64),
        (z, theta, kappa): (f64, f64, f64),
    ) {
        // What it is made from has terms of its own, to be taken in whole.
        let others = made_from.iter().map(|(j, _)| self.counts[*j]).max().unwrap_or(0);
        // The term in hand and the one before it, and what comes in with that.
        let (mut last, mut before, mut come_before) = (start, 0.0, 0.0);
        let (mut largest, mut small) = (start.abs(), 0);
        let (loss, bend) = (kappa + theta, z * kappa);
        self.terms[i][0] = start;
        self.counts[i] = TERMS;
        let mut come = h * supply;
        for n in 0..TERMS - 1 {
            for (j, rate) in made_from {
                if n < self.counts[*j] {
                    come += h * rate * self.terms[*j][n];
                }
            }
            // Only the last product waits for the term in hand.
            let rest = (come + z * come_before - bend * before) * ONE_OVER[n + 1];
            let next = rest - (loss + z * n as f64) * ONE_OVER[n + 1] * last;
            self.terms[i][n + 1] = next;
            (before, last, come_before, come) = (last, next, come, 0.0);
            largest = largest.max(last.abs());
            small = if last.abs() <= NOTHING * largest { small + 1 } else { 0 };
            if small == 2 && n >= others {
                self.counts[i] = n + 2;
                break;
            }
        }
    }
}
