//! A float of two levels in all lanes: its pump waits until the level has fallen by the gap, and runs then to the upper level.
//!
//! The level moves all the time, each lane's at a pace of its own, so a segment is legs: to the lower level, to the upper one,
//! and on. In a leg of `h` days the volume changes by a share `z` and every amount is a power series, with `s = t/h`,
//! `κ = k h`, `θ = q h/V` and `p` what comes in it:
//! ```text
//! (n+1) c_{n+1} = p_n + z p_{n−1} − (κ + θ + z n) c_n − z κ c_{n−1},      x(1) = Σ c_n
//! ```
//! as in the exact step ([`series`](crate::model)), here with so many terms for every lane.

use super::super::flows::EMPTY_SHARE;
use super::kernels::{self, Column, NEARLY_DRY_L, larger};
use super::{MemberBatch, coupled};
use crate::numerics::ONE_OVER;

/// Most legs of a segment that all lanes take together.
const MOST_LEGS: usize = 32;
/// Terms of the series. The first left out is below 1e-13 within the two bounds that follow.
const TERMS: usize = 12;
/// Largest `κ + θ` of a leg.
const LONGEST_EXPONENT: f64 = 0.25;
/// Largest share by which the volume may change in a leg.
const LONGEST_SHARE: f64 = 0.05;

/// What the floats do.
pub(super) struct TwoLevels {
    /// Above zero where the pump runs: now, and as the segment began.
    pub(super) on: Column,
    pub(super) before: Column,
    /// Days of the segment that are left, and those of the leg.
    rest: Column,
    days: Column,
    /// Shares by which the volume changes in the leg, and is renewed.
    share: Column,
    renewed: Column,
}

impl TwoLevels {
    /// Of so many lanes, with all pumps off.
    pub(super) fn new(count: usize) -> Self {
        let empty = || vec![0.0; count];
        Self { on: empty(), before: empty(), rest: empty(), days: empty(), share: empty(), renewed: empty() }
    }
}

/// A segment of so many days; a misfit where it does not end within the legs.
#[inline(always)]
pub(super) fn segment(lanes: &mut MemberBatch, days: f64) {
    lanes.amounts.iter_mut().zip(&lanes.before).for_each(|(now, before)| now.copy_from_slice(before));
    lanes.misfit.fill(0.0);
    lanes.drawn.fill(0.0);
    lanes.float.rest.fill(days);
    for _ in 0..MOST_LEGS {
        begin_leg(lanes);
        go(lanes);
        kernels::look(lanes);
        coupled::widen(lanes);
        if lanes.float.rest.iter().filter(|rest| **rest > 0.0).count() == 0 {
            break;
        }
    }
    lanes.misfit.iter_mut().zip(&lanes.float.rest).for_each(|(misfit, rest)| *misfit = larger(*misfit, *rest));
}

/// What the pumps do from here on, and for how long; a misfit where a leg is too long for the series, or comes to what lanes do
/// not know.
#[inline(always)]
fn begin_leg(lanes: &mut MemberBatch) {
    let n = lanes.top.len();
    let (float, force) = (&mut lanes.float, &lanes.force);
    let Some(gap) = &force.gap else { return };
    let (on, rest, days) = (&mut float.on[..n], &mut float.rest[..n], &mut float.days[..n]);
    let (share, renewed, top) = (&mut float.share[..n], &mut float.renewed[..n], &mut lanes.top[..n]);
    let (drawn, misfit, slack) = (&mut lanes.drawn[..n], &mut lanes.misfit[..n], &mut lanes.slack[..n]);
    let (volume, tolerance, stock) = (&lanes.volume[..n], &lanes.tolerance[..n], &lanes.stock[..n]);
    let (rim, mark, rise, carried) = (&lanes.rim[..n], &lanes.mark[..n], &lanes.rise[..n], &lanes.carried[..n]);
    let (water_l, fresh_kg, today) = (&lanes.water_l[..n], &lanes.fresh_kg[..n], &force.today[..n]);
    let (level, gap, pump) = (&force.level[..n], &gap[..n], &force.pump[..n]);
    let (out, fastest) = (&force.out[..n], &force.fastest[..n]);
    for l in 0..n {
        let lower = level[l] - gap[l];
        // As `float_of_two_levels`, in all lanes.
        let edge = if on[l] > 0.0 { level[l] - tolerance[l] } else { lower + tolerance[l] };
        let runs = if volume[l] < edge { 1.0 } else { 0.0 };
        // Where nothing is left of the segment, what is done next may change the level first.
        on[l] = if rest[l] > 0.0 { runs } else { on[l] };
        top[l] = if on[l] > 0.0 { pump[l] } else { 0.0 };
        let target = if on[l] > 0.0 { level[l] } else { lower };
        let drift = carried[l] - water_l[l] * fresh_kg[l] * today[l] + top[l] * rise[l];
        let way = (target - volume[l]) / drift;
        days[l] = if way >= 0.0 && way < rest[l] { way } else { rest[l] };
        rest[l] -= days[l];
        drawn[l] += top[l] * days[l];
        let per_litre = 1.0 / volume[l];
        share[l] = drift * days[l] * per_litre;
        renewed[l] = out[l] * days[l] * per_litre;
        let then = volume[l] + drift * days[l];
        let exponent = fastest[l] * days[l];
        let long = larger(exponent - LONGEST_EXPONENT, share[l].abs() - LONGEST_SHARE);
        let off = larger(then - (rim[l] - tolerance[l]), 2.0 * EMPTY_SHARE * mark[l] - then);
        let dry = if drawn[l] > 0.0 { drawn[l] + NEARLY_DRY_L - stock[l] } else { 0.0 };
        misfit[l] = larger(larger(misfit[l], long), larger(off, dry));
        // Of `V c' = p − (q + d + kV) c` past a turn the slope is at most `k|ΔV|c/V`, so that the concentration comes
        // back by half of `k h z c` at most.
        slack[l] = exponent * share[l].abs();
    }
}

/// Takes all amounts through the leg.
#[inline(always)]
fn go(lanes: &mut MemberBatch) {
    let n = lanes.top.len();
    let (float, force) = (&lanes.float, &lanes.force);
    let (days, share, renewed) = (&float.days[..n], &float.share[..n], &float.renewed[..n]);
    let (top, fresh_kg, today) = (&lanes.top[..n], &lanes.fresh_kg[..n], &force.today[..n]);
    for (j, amounts) in lanes.amounts.iter_mut().enumerate() {
        let (amounts, loss) = (&mut amounts[..n], &lanes.loss[j][..n]);
        let (base, fresh) = (&force.base[j][..n], &force.fresh[j][..n]);
        let dries = if j == 0 { 1.0 } else { 0.0 };
        for l in 0..n {
            let (h, z, lost) = (days[l], share[l], loss[l] * days[l]);
            let comes = h * (base[l] - dries * fresh_kg[l] * today[l] + top[l] * fresh[l]);
            let (goes, turned) = (lost + renewed[l], z * lost);
            let mut before = comes - goes * amounts[l];
            let mut last = 0.5 * (z * comes - (goes + z) * before - turned * amounts[l]);
            let mut more = before + last;
            for n in 2..TERMS {
                let next = -((goes + z * n as f64) * last + turned * before) * ONE_OVER[n + 1];
                more += next;
                (before, last) = (last, next);
            }
            amounts[l] += more;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where the bounds of a leg are met, the first term left out is nothing.
    #[test]
    fn the_terms_serve_to_the_ends_of_their_range() {
        for z in [LONGEST_SHARE, -LONGEST_SHARE] {
            let mut term: f64 = 1.0;
            for n in 0..=TERMS {
                term *= (LONGEST_EXPONENT + z.abs() * n as f64) / (n + 1) as f64;
            }
            assert!(term < 1e-13, "{term}");
        }
    }
}
