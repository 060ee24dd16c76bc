//! One lane through one segment by the exact step alone: where the volume law is renewed, a band is left, the
//! level is off for long, the reservoir runs dry or the pump is too weak.

use super::super::flows::{DRY_L, EMPTY_SHARE, Mode, float_that_works};
use super::super::observe::{Observer, Segment};
use super::super::turning::law_ends;
use super::{Lanes, MOST_OFF_LEVEL};
use crate::model::{Flow, Kinetics, Stepper, VolumeLaw, Watched};

/// Most parts of a segment; three are usual.
const MOST_PARTS: usize = 16;

impl Lanes {
    /// Takes lane `l` through a segment again; nothing where it meets what only a member alone can do.
    pub(super) fn single(&mut self, l: usize, days: f64) -> Option<()> {
        let mut stepper = Stepper::new(self.kinetics(l));
        let n = self.amounts.len() - 2;
        let at_zero = vec![false; n];
        let mut amounts: Vec<f64> = self.before.iter().map(|column| column[l]).collect();
        let mut after = amounts.clone();
        let (mut integral, mut scratch, mut scratch_integral) = (vec![0.0; n], after.clone(), vec![0.0; n]);
        let (mut from, mut rest) = (self.time, days);
        for _ in 0..MOST_PARTS {
            let law = self.laws[l];
            let (flow, top_off, mut part) = self.flow(l, &amounts, rest)?;
            stepper.step(&flow, &at_zero, &amounts, part, &mut after, &mut integral);
            if let Some(at) = law_ends(&law, &flow, [amounts[0], amounts[1]], [after[0], after[1]], part) {
                part = at;
                stepper.step(&flow, &at_zero, &amounts, part, &mut after, &mut integral);
            }
            if self.taking.iter().any(|i| after[i + 2] < 0.0) {
                return None;
            }
            // Close to the level, and on it, a concentration only rises or only falls, as in the passes.
            let long = (flow.drift * part).abs() > MOST_OFF_LEVEL * flow.volume;
            if long || self.is_outside(l, &law, &after) {
                self.crossings[l].segment(&mut Segment {
                    stepper: &mut stepper,
                    flow: &flow,
                    at_zero: &at_zero,
                    law: &law,
                    amounts: &amounts,
                    after: &after,
                    scratch: &mut scratch,
                    integral: &mut scratch_integral,
                    from_d: from,
                    days: part,
                });
            }
            self.stock[l] -= top_off * part;
            if self.stock[l] <= DRY_L {
                self.stock[l] = 0.0;
            }
            std::mem::swap(&mut amounts, &mut after);
            (from, rest) = (from + part, if part < rest { rest - part } else { 0.0 });
            self.renew_law(l, amounts[0], amounts[1]);
            if rest <= 0.0 {
                self.amounts.iter_mut().zip(amounts).for_each(|(column, amount)| column[l] = amount);
                return Some(());
            }
        }
        None
    }

    /// Whether amounts are outside a band that the lane has yet to leave.
    fn is_outside(&self, l: usize, law: &VolumeLaw, amounts: &[f64]) -> bool {
        self.bands.iter().any(|band| {
            let value = match band.of {
                Watched::Salinity => law.salinity_psu(amounts[0], amounts[1]),
                Watched::Solute(i) => amounts[i + 2] / law.volume(amounts[0], amounts[1]),
            };
            value < band.low[l] || value > band.high[l]
        })
    }

    /// Whether a level is neither at the rim nor near the bottom.
    fn is_within(&self, l: usize, volume: f64) -> bool {
        volume < self.rim[l] - self.tolerance[l] && volume > 2.0 * EMPTY_SHARE * self.mark[l]
    }

    /// Flows in force from these amounts on, the top-off among them \[L/d\], and for how long of `rest` days: what
    /// [`Situation::flows`](super::super::flows::Situation::flows) gives for a float that works.
    fn flow(&self, l: usize, amounts: &[f64], rest: f64) -> Option<(Flow, f64, f64)> {
        let volume = self.laws[l].volume(amounts[0], amounts[1]);
        let dry_kg = self.fresh_kg[l] * self.today[l];
        let unheld = self.carried[l] - self.water_l[l] * dry_kg;
        let need = -unheld / self.rise[l];
        let off = volume - self.level[l];
        let has_water = self.stock[l] > 0.0;
        let float = || float_that_works(off, self.tolerance[l], need, self.pump[l]);
        let (mode, top_off) = if has_water { float() } else { (Mode::Free, 0.0) };
        let (volume, drift) = match mode {
            Mode::Held => (self.level[l], 0.0),
            _ => (volume, unheld + top_off * self.rise[l]),
        };
        let mut days = rest;
        // Without water the float cannot tell when the level is right.
        if has_water && off.abs() > self.tolerance[l] && off * drift < 0.0 {
            days = days.min(-off / drift);
        }
        if top_off > 0.0 {
            days = days.min(self.stock[l] / top_off);
        }
        let mut supply: Vec<f64> =
            self.base.iter().zip(&self.fresh).map(|(base, fresh)| base[l] + top_off * fresh[l]).collect();
        supply[0] -= dry_kg;
        let sound = days > 0.0 && self.is_within(l, volume + drift * days);
        sound.then_some((Flow { volume, drift, out: self.out[l], supply }, top_off, days))
    }

    /// The losses of a lane; its uptakes are in its supply.
    fn kinetics(&self, l: usize) -> Kinetics {
        let loss: Vec<f64> = self.loss[2..].iter().map(|column| column[l]).collect();
        let n = loss.len();
        Kinetics {
            removal: loss.clone(),
            made_from: vec![Vec::new(); n],
            uptake: vec![0.0; n],
            order: (0..n).filter(|i| loss[*i] != 0.0).collect(),
            taking: Vec::new(),
            chained: vec![false; n],
            loss,
        }
    }
}
