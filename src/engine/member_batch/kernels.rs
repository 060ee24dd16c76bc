//! The arithmetic of a segment for all lanes at once: plain loops over columns, which the compiler makes wide.
//!
//! While the float holds the level, every amount obeys `x' = p − λ x` with `λ = k + q/V`, so
//! `x ← keep·x + once·p` with `keep = e^{−λt}`, `once = t·exprel(−λt)`, and `p` is linear in the top-off.
//!
//! Just after a change the level is off by the difference in density, and the float waits or fills for
//! minutes. For that interval of `s` days the factors are `keep_s = 1 − λ once_s`, `once_s = s·exprel(−λs)` by
//! the series of `exprel`; that of the rest follows from the whole segment's, `keep_{t−s} = keep_t/keep_s`.

use super::super::flows::DRY_L;
use super::MemberBatch;
use crate::model::{Id, Variable};

/// A number for each lane.
pub(super) type Column = Vec<f64>;

/// Largest `λs` for which the series serves: the first term left out is below 1e-13.
const SHORT_EXPONENT: f64 = 1.0 / 16.0;

/// Largest share by which the volume may change in an interval off the level that all lanes take together.
const MOST_OFF_LEVEL: f64 = 1e-3;
/// Largest error of such an interval, as a share of what comes in it.
const OFF_LEVEL_ERROR: f64 = 1e-12;

/// Litres with which a reservoir is so near to dry that a lane looks by itself.
pub(super) const NEARLY_DRY_L: f64 = 2.0 * DRY_L;

/// Factors of a whole segment with the level held.
pub(super) struct Factors {
    pub(super) keep: Vec<Column>,
    /// `once` times the supply without top-off and evaporation.
    pub(super) given: Vec<Column>,
    /// `once` times what a litre of top-off brings.
    pub(super) brought: Vec<Column>,
    /// Whether it brings any in some lane.
    pub(super) is_brought: Vec<bool>,
    /// `once` of the water times what a litre of fresh water weighs.
    pub(super) dried: Column,
}

/// The interval at the beginning of a segment in which the level is off.
#[derive(Default)]
pub(super) struct Off {
    /// Its length \[d\].
    pub(super) days: Column,
    /// Top-off in it \[L/d\].
    pub(super) top: Column,
    /// By how much its dilution exceeds that of the same time at the level.
    pub(super) more: Column,
}

/// `exprel(−y)` for `|y|` up to [`SHORT_EXPONENT`].
#[inline]
fn short(y: f64) -> f64 {
    const TERMS: [f64; 7] = [1.0, 1.0 / 2.0, 1.0 / 6.0, 1.0 / 24.0, 1.0 / 120.0, 1.0 / 720.0, 1.0 / 5040.0];
    TERMS.iter().rev().fold(0.0, |sum, term| term - y * sum)
}

/// The top-off that holds the level, and what it draws; a misfit where it cannot.
#[inline(always)]
pub(super) fn top_off(lanes: &mut MemberBatch, days: f64) {
    let n = lanes.top.len();
    let (top, drawn, misfit) = (&mut lanes.top[..n], &mut lanes.drawn[..n], &mut lanes.misfit[..n]);
    let (water_l, fresh_kg, today) = (&lanes.water_l[..n], &lanes.fresh_kg[..n], &lanes.force.today[..n]);
    let (carried, rise, pump, stock) =
        (&lanes.carried[..n], &lanes.rise[..n], &lanes.force.pump[..n], &lanes.stock[..n]);
    for l in 0..n {
        top[l] = (water_l[l] * fresh_kg[l] * today[l] - carried[l]) / rise[l];
        drawn[l] = top[l] * days;
        // Where nothing is needed the float does not open.
        let dry = drawn[l] + NEARLY_DRY_L - stock[l];
        misfit[l] = larger(larger(f64::MIN_POSITIVE - top[l], top[l] - pump[l]), dry);
    }
}

/// Parts alkalinity from its sum with nitrogen.
#[inline(always)]
pub(super) fn part(lanes: &mut MemberBatch) {
    let Some(coupling) = &lanes.coupling else { return };
    let n = lanes.top.len();
    let alkalinity = &mut lanes.alkalinity[..n];
    alkalinity.copy_from_slice(&lanes.amounts[coupling.alkalinity + 2]);
    for (i, per) in &coupling.parts {
        let nitrogen = &lanes.amounts[i + 2][..n];
        for l in 0..n {
            alkalinity[l] -= per * nitrogen[l];
        }
    }
}

/// The amounts of a solute.
#[inline(always)]
fn amounts_of(lanes: &MemberBatch, solute: usize) -> &[f64] {
    let is_parted = lanes.coupling.as_ref().is_some_and(|c| c.alkalinity == solute);
    if is_parted { &lanes.alkalinity } else { &lanes.amounts[solute + 2] }
}

/// Volume and salinity of the present amounts; a misfit where a lane must be looked at by itself.
#[inline(always)]
pub(super) fn look(lanes: &mut MemberBatch) {
    let n = lanes.top.len();
    let (volume, psu, misfit) = (&mut lanes.volume[..n], &mut lanes.psu[..n], &mut lanes.misfit[..n]);
    let (water, salt) = (&lanes.amounts[0][..n], &lanes.amounts[1][..n]);
    let (water_l, salt_l) = (&lanes.water_l[..n], &lanes.salt_l[..n]);
    let (low, high, starve) = (&lanes.low_psu[..n], &lanes.high_psu[..n], &lanes.starve[..n]);
    let [factor, share] = lanes.salinity;
    for l in 0..n {
        volume[l] = water_l[l] * water[l] + salt_l[l] * salt[l];
        psu[l] = factor * salt[l] / (water[l] + share * salt[l]);
        misfit[l] = larger(larger(misfit[l], starve[l] - volume[l]), larger(low[l] - psu[l], psu[l] - high[l]));
    }
    part(lanes);
    for k in 0..lanes.taking.len() {
        let mut misfit = std::mem::take(&mut lanes.misfit);
        let amount = &amounts_of(lanes, lanes.taking[k])[..n];
        for (misfit, amount) in misfit[..n].iter_mut().zip(amount) {
            *misfit = larger(*misfit, -amount);
        }
        lanes.misfit = misfit;
    }
    (0..lanes.bands.len()).for_each(|b| look_at_band(lanes, b));
}

/// A misfit where a value is outside one of the bands.
#[inline(always)]
pub(super) fn look_at_band(lanes: &mut MemberBatch, b: usize) {
    let n = lanes.top.len();
    let band = &lanes.bands[b];
    let (volume, psu, misfit) = (&lanes.volume[..n], &lanes.psu[..n], &mut lanes.misfit[..n]);
    let (low, high, slack) = (&band.low[..n], &band.high[..n], &lanes.slack[..n]);
    match band.of {
        Variable::Salinity => {
            for l in 0..n {
                misfit[l] = larger(misfit[l], larger(low[l] - psu[l], psu[l] - high[l]));
            }
        }
        Variable::Solute(solute) => {
            let is_parted = lanes.coupling.as_ref().is_some_and(|c| c.alkalinity == solute.place());
            let amount = if is_parted { &lanes.alkalinity[..n] } else { &lanes.amounts[solute.place() + 2][..n] };
            for l in 0..n {
                let (low, high) = (low[l] * volume[l] - amount[l], amount[l] - high[l] * volume[l]);
                misfit[l] = larger(misfit[l], larger(low, high) + slack[l] * amount[l].abs());
            }
        }
    }
}

/// Salinity and concentrations of all lanes.
#[inline(always)]
pub(super) fn give_row(lanes: &mut MemberBatch, row: &mut [&mut [f64]]) {
    let n = lanes.top.len();
    let Some((psu, solutes)) = row.split_first_mut() else { return };
    psu.copy_from_slice(&lanes.psu);
    part(lanes);
    let (volume, per_litre) = (&lanes.volume[..n], &mut lanes.per_litre[..n]);
    for l in 0..n {
        per_litre[l] = 1.0 / volume[l];
    }
    let per_litre = &lanes.per_litre[..n];
    for (i, values) in solutes.iter_mut().enumerate() {
        let (values, amounts) = (&mut values[..n], &amounts_of(lanes, i)[..n]);
        for l in 0..n {
            values[l] = amounts[l] * per_litre[l];
        }
    }
}

/// The larger of two numbers, by one comparison: that is one instruction for several lanes.
#[inline]
pub(super) fn larger(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

/// A segment with the level held throughout.
#[inline(always)]
pub(super) fn held(lanes: &mut MemberBatch, slot: usize) {
    let factors = lanes.factors.at(slot);
    let n = lanes.top.len();
    let top = &lanes.top[..n];
    for (j, (after, now)) in lanes.amounts.iter_mut().zip(&lanes.before).enumerate() {
        let (after, now) = (&mut after[..n], &now[..n]);
        let (keep, given, brought) = (&factors.keep[j][..n], &factors.given[j][..n], &factors.brought[j][..n]);
        // Purified water brings no salt and no solutes.
        if factors.is_brought[j] {
            for l in 0..n {
                after[l] = keep[l] * now[l] + given[l] + top[l] * brought[l];
            }
        } else {
            for l in 0..n {
                after[l] = keep[l] * now[l] + given[l];
            }
        }
    }
    let (water, dried, today) = (&mut lanes.amounts[0][..n], &factors.dried[..n], &lanes.force.today[..n]);
    for l in 0..n {
        water[l] -= dried[l] * today[l];
    }
}

/// For how long, and how, the level is off at the start of the segment; a misfit where it is off for long.
#[inline(always)]
pub(super) fn way_to_level(lanes: &mut MemberBatch, days: f64) {
    let n = lanes.top.len();
    let (first, first_top, more) = (&mut lanes.off.days[..n], &mut lanes.off.top[..n], &mut lanes.off.more[..n]);
    let (drawn, misfit, stock) = (&mut lanes.drawn[..n], &mut lanes.misfit[..n], &lanes.stock[..n]);
    let (volume, level, tolerance) = (&lanes.volume[..n], &lanes.force.level[..n], &lanes.tolerance[..n]);
    let (top, pump, rise, out) = (&lanes.top[..n], &lanes.force.pump[..n], &lanes.rise[..n], &lanes.force.out[..n]);
    let (fastest, slack) = (&lanes.force.fastest[..n], &mut lanes.slack[..n]);
    for l in 0..n {
        let off = volume[l] - level[l];
        let is_off = off.abs() > tolerance[l];
        first_top[l] = if off > 0.0 { 0.0 } else { pump[l] };
        let drift = (first_top[l] - top[l]) * rise[l];
        let way = -off / drift;
        let way = if way < days { way } else { days };
        first[l] = if is_off { way } else { 0.0 };
        let z = drift * first[l] / volume[l];
        let turnover = first[l] / volume[l] * (1.0 - z * (0.5 - z * (1.0 / 3.0 - 0.25 * z)));
        more[l] = out[l] * (turnover - first[l] / level[l]);
        drawn[l] = first_top[l] * first[l] + top[l] * (days - first[l]);
        let error = out[l] * first[l] / level[l] * z.abs() - OFF_LEVEL_ERROR;
        let long = larger(fastest[l] * first[l] - SHORT_EXPONENT, larger(z.abs() - MOST_OFF_LEVEL, error));
        misfit[l] = larger(misfit[l], larger(long, larger(drawn[l] + NEARLY_DRY_L - stock[l], -first[l])));
        // As in a leg of a float of two levels.
        slack[l] = fastest[l] * first[l] * z.abs();
    }
}

/// A segment that begins off the level, and the state of what is watched where the level is reached.
///
/// All lanes are taken as if the level were held throughout; by what the first interval differs from that decays over
/// the rest. On a lane that is on its level it differs by nothing.
#[inline(always)]
pub(super) fn off_level(lanes: &mut MemberBatch, slot: usize) {
    held(lanes, slot);
    let factors = lanes.factors.at(slot);
    let n = lanes.top.len();
    let (top, fresh_kg, today) = (&lanes.top[..n], &lanes.fresh_kg[..n], &lanes.force.today[..n]);
    let (days, first_top, more) = (&lanes.off.days[..n], &lanes.off.top[..n], &lanes.off.more[..n]);
    let columns = lanes.amounts.iter_mut().zip(&lanes.before).zip(&mut lanes.between);
    for (j, ((after, now), between)) in columns.enumerate() {
        let (after, now, between) = (&mut after[..n], &now[..n], &mut between[..n]);
        let (lambda, base, fresh) =
            (&lanes.force.lambda[j][..n], &lanes.force.base[j][..n], &lanes.force.fresh[j][..n]);
        let keep = &factors.keep[j][..n];
        let dries = if j == 0 { 1.0 } else { 0.0 };
        for l in 0..n {
            let once = days[l] * short(lambda[l] * days[l]);
            let kept = 1.0 - lambda[l] * once;
            let supply = base[l] - dries * fresh_kg[l] * today[l];
            let first = supply + first_top[l] * fresh[l];
            let differs = once * ((first_top[l] - top[l]) * fresh[l] - 0.5 * more[l] * first) - more[l] * kept * now[l];
            between[l] = kept * now[l] + once * (supply + top[l] * fresh[l]) + differs;
            after[l] += keep[l] / kept * differs;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{SHORT_EXPONENT, short};
    use crate::numerics::exprel;

    #[test]
    fn the_series_serves_to_the_end_of_its_range() {
        for y in [0.0, 1e-12, 1e-3, 0.5 * SHORT_EXPONENT, SHORT_EXPONENT, -SHORT_EXPONENT] {
            assert!((short(y) - exprel(-y)).abs() <= 1e-13, "{y}");
        }
    }
}
