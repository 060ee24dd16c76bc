//! Alkalinity that goes with nitrogen, where a band watches it: it may turn within a segment.
//!
//! Its sum with nitrogen does not react, so that as a concentration it goes one way between two looks, and so does each
//! nitrogen. Alkalinity stays between the sum's ends less those of the nitrogen: where that reaches beyond the band, the lane
//! is looked at by itself.

use super::MemberBatch;
use super::kernels::{Column, larger};
use crate::model::{BEFORE_SOLUTES, Coupling, Id, Variable};

/// Between what the concentrations of a segment have been so far: of the sum, and of each nitrogen.
pub(super) struct Coupled {
    sum: Ends,
    nitrogen: Vec<(f64, Ends)>,
}

/// Lowest and highest of one amount over the volume, and its place among the amounts.
struct Ends {
    place: usize,
    low: Column,
    high: Column,
}

impl Coupled {
    /// In so many lanes.
    pub(super) fn new(coupling: &Coupling, count: usize) -> Self {
        let ends = |solute: usize| {
            let place = solute + BEFORE_SOLUTES;
            Ends { place, low: vec![0.0; count], high: vec![0.0; count] }
        };
        let nitrogen = coupling.parts.iter().map(|(i, per)| (*per, ends(*i))).collect();
        Self { sum: ends(coupling.alkalinity), nitrogen }
    }

    fn ends(&mut self) -> impl Iterator<Item = &mut Ends> {
        std::iter::once(&mut self.sum).chain(self.nitrogen.iter_mut().map(|(_, ends)| ends))
    }
}

/// Begins a segment, with the amounts before it and the volume still that of its begin.
#[inline(always)]
pub(super) fn begin(lanes: &mut MemberBatch) {
    let Some(coupled) = &mut lanes.coupled else { return };
    let n = lanes.volume.len();
    let volume = &lanes.volume[..n];
    for ends in coupled.ends() {
        let (low, high, amount) = (&mut ends.low[..n], &mut ends.high[..n], &lanes.before[ends.place][..n]);
        for l in 0..n {
            low[l] = amount[l] / volume[l];
            high[l] = low[l];
        }
    }
}

/// Takes in what there is now, within the segment or at its end.
#[inline(always)]
pub(super) fn widen(lanes: &mut MemberBatch) {
    let Some(coupled) = &mut lanes.coupled else { return };
    let n = lanes.volume.len();
    let (volume, slack) = (&lanes.volume[..n], &lanes.slack[..n]);
    for ends in coupled.ends() {
        let (low, high, amount) = (&mut ends.low[..n], &mut ends.high[..n], &lanes.amounts[ends.place][..n]);
        for l in 0..n {
            let now = amount[l] / volume[l];
            let about = slack[l] * now.abs();
            low[l] = -larger(-low[l], about - now);
            high[l] = larger(high[l], now + about);
        }
    }
}

/// A misfit where alkalinity may have left its band.
#[inline(always)]
pub(super) fn look(lanes: &mut MemberBatch) {
    let (Some(coupled), Some(coupling)) = (&lanes.coupled, &lanes.coupling) else { return };
    let n = lanes.volume.len();
    let watching = |of: Variable| matches!(of, Variable::Solute(solute) if solute.place() == coupling.alkalinity);
    for band in lanes.bands.iter().filter(|band| watching(band.of)) {
        for l in 0..n {
            let (mut low, mut high) = (coupled.sum.low[l], coupled.sum.high[l]);
            for (per, ends) in &coupled.nitrogen {
                let (a, b) = (per * ends.low[l], per * ends.high[l]);
                low -= larger(a, b);
                high += larger(-a, -b);
            }
            lanes.misfit[l] = larger(lanes.misfit[l], larger(band.low[l] - low, high - band.high[l]));
        }
    }
}
