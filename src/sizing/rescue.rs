//! Rescue: litres and changes that bring something in the tank from here to there.

use crate::numerics::Elementary;

/// One rung of the ladder.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rung {
    /// Number of equal changes; zero is a continuous exchange.
    pub changes: u32,
    /// Share of the tank in each; for a continuous exchange that of the whole.
    pub share: f64,
    /// Litres of new water in all.
    pub litres: f64,
    /// Hours or days until there is enough new water: days from now for the last of it.
    pub ready_d: f64,
}

/// The share that must be left so that a tank at `from` comes to `to` with new water at `new`; nothing where
/// no dilution does it.
#[must_use]
pub fn share_left(from: f64, to: f64, new: f64) -> Option<f64> {
    let left = (to - new) / (from - new);
    (left > 0.0 && left < 1.0).then_some(left)
}

/// New water in store and how fast more is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NewWater {
    /// Litres ready now.
    pub store_l: f64,
    /// Litres made a day.
    pub made_l_per_d: f64,
}

/// The ladder: one change, several equal ones, and a continuous exchange.
///
/// After `n` changes of a share `f` the share `(1 − f)ⁿ` is left; after a continuous exchange of `V_x` it
/// is `e^{−V_x/V}`.
#[must_use]
pub fn ladder(litres: f64, left: f64, water: NewWater, most_share: f64) -> Vec<Rung> {
    let ready = |need: f64| {
        let short = (need - water.store_l).max(0.0);
        if short == 0.0 { 0.0 } else { short / water.made_l_per_d }
    };
    let mut rungs: Vec<Rung> = (1..=MOST_CHANGES)
        .map(|n| {
            let share = 1.0 - left.to_power(1.0 / f64::from(n));
            let all = f64::from(n) * share * litres;
            Rung { changes: n, share, litres: all, ready_d: ready(all) }
        })
        .filter(|r| r.share <= most_share)
        .take(MOST_RUNGS)
        .collect();
    let all = litres * (1.0 / left).to_ln();
    rungs.push(Rung { changes: 0, share: 1.0 - left, litres: all, ready_d: ready(all) });
    rungs
}

/// How far some litres bring a tank: as few equal changes as the largest share allows, which leave the least, and the
/// share of the old water then left.
#[must_use]
pub fn reach_of(store_l: f64, litres: f64, most_share: f64) -> (u32, f64) {
    let mut changes = 1;
    while store_l > f64::from(changes) * most_share * litres && changes < MOST_CHANGES {
        changes += 1;
    }
    let share = (store_l / (f64::from(changes) * litres)).min(most_share);
    (changes, (1.0 - share).powi(changes.cast_signed()))
}

/// A day of a rescue.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RescueDay {
    /// Days from now.
    pub day: u32,
    /// New water that is changed in \[L\].
    pub litres: f64,
    /// Concentration just after.
    pub after: f64,
    /// Concentration times days that the animals have had by the next day.
    pub exposure: f64,
}

/// What is to be brought down, in which tank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Polluted {
    /// System volume \[L\].
    pub litres: f64,
    /// Concentration now.
    pub from: f64,
    /// Where it should go.
    pub to: f64,
    /// What the new water holds.
    pub new: f64,
    /// Rise a day that is still coming in.
    pub load_per_d: f64,
}

/// Changing each day what stands ready, day by day until the concentration is where it should be, or for
/// [`LONGEST_RESCUE_D`] days.
#[must_use]
pub fn day_by_day(tank: &Polluted, water: NewWater, most_share: f64) -> Vec<RescueDay> {
    let mut days = Vec::new();
    let (mut held, mut stock, mut exposure) = (tank.from, water.store_l, 0.0);
    for day in 0..=LONGEST_RESCUE_D {
        // No more than what brings it there, or than may be changed at once.
        let needed = if held > tank.to { (held - tank.to) / (held - tank.new) } else { 0.0 };
        let share = (stock / tank.litres).min(most_share).min(needed.max(0.0));
        held += share * (tank.new - held);
        stock += water.made_l_per_d - share * tank.litres;
        // The load comes in evenly until the next day.
        exposure += held + 0.5 * tank.load_per_d;
        days.push(RescueDay { day, litres: share * tank.litres, after: held, exposure });
        if held <= tank.to * (1.0 + 1e-9) {
            break;
        }
        held += tank.load_per_d;
    }
    days
}

/// Waiting until there is enough for one change of the largest share: when, the exposure till then, and what it leaves;
/// nothing where there never is.
#[must_use]
pub fn waiting(tank: &Polluted, water: NewWater, most_share: f64) -> Option<(f64, f64, f64)> {
    let short = (most_share * tank.litres - water.store_l).max(0.0);
    let days = if short == 0.0 { 0.0 } else { short / water.made_l_per_d };
    days.is_finite().then(|| {
        let then = tank.from + tank.load_per_d * days;
        (days, 0.5 * (tank.from + then) * days, then + most_share * (tank.new - then))
    })
}

/// Longest that a rescue is followed \[d\].
pub const LONGEST_RESCUE_D: u32 = 30;

/// Most equal changes that are looked at.
const MOST_CHANGES: u32 = 60;
/// Rungs of changes that are given.
const MOST_RUNGS: usize = 6;
