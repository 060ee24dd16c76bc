//! Where a regime does not keep a band: how much of each lever would.

use crate::model::{Band, Component, Plan, SoluteId, Variable};
use crate::sizing::mix_to;
use crate::solutes::{Role, View};
use crate::study::{Judged, Lens, band_use, least_remedy, span};
use crate::units::{PracticalSalinity, Rate, significant, trimmed};

/// Largest removal that is tried \[1/d\].
const MOST_REMOVAL: f64 = 1.0;
/// Largest supply that is tried, in litres of tank water at the limit a day for each litre.
const MOST_SUPPLY: f64 = 1.0;

/// For each band that the settled cycle leaves, the levers that keep it, each worked out by itself.
pub(super) fn remedies(plan: &Plan, judged: &Judged, view: &View) -> Vec<String> {
    plan.bands
        .iter()
        .filter(|band| band_use(&judged.settled, band) > 1.0 + 1e-9)
        .map(|band| {
            let span = span(&judged.settled, band);
            let name = span.key.replace('_', " ");
            let ways = ways(plan, Lens::Settled, band, band.high.is_some_and(|high| span.peak > high), view);
            if ways.is_empty() {
                format!("{name}: none of load, removal, dose or mix does it alone")
            } else {
                format!("{name}: {}", ways.join("; or "))
            }
        })
        .collect()
}

/// The levers that keep a band which is left upwards or downwards, each worked out by itself.
pub(super) fn ways(plan: &Plan, lens: Lens, band: &Band, upwards: bool, view: &View) -> Vec<String> {
    match band.of {
        Variable::Salinity => salinity(plan, lens, band),
        Variable::Solute(i) if upwards => too_much(plan, lens, band, i, view),
        Variable::Solute(i) => too_little(plan, lens, band, i, view),
    }
}

fn too_much(plan: &Plan, lens: Lens, band: &Band, i: SoluteId, view: &View) -> Vec<String> {
    let solute = &plan.species[i].solute;
    let (shown, litres) = (view.of(&solute.key, solute.unit()), plan.tank.operating.litres());
    let mut ways = Vec::new();
    let less = least_remedy(plan, lens, band, 1.0, |plan, cut| {
        plan.regime.loads[i] *= 1.0 - cut;
        plan.regime.feed[i] *= 1.0 - cut;
    });
    let now = (plan.regime.loads[i] + plan.regime.feed[i]) / litres;
    if is_dosed(plan, i) {
        // A supplement is no pollutant: less of it is all there is to do, and too little leaves the band too.
        let kept = |percent: &u32| {
            let mut less = plan.clone();
            dose_less(&mut less, i, 0.01 * f64::from(*percent));
            lens.band_use(&less, band).is_ok_and(|used| used <= 1.0)
        };
        return (1..=100).find(kept).map(|percent| format!("dose {percent} % less of it")).into_iter().collect();
    }
    if let Some(cut) = less.filter(|_| now > 0.0) {
        ways.push(format!(
            "bring its load from {} to {} {}/d",
            significant(shown.value(now), 3),
            significant(shown.value(now * (1.0 - cut)), 3),
            shown.unit
        ));
    }
    if solute.role == Role::Constituent {
        return ways;
    }
    let before = plan.species[i].removal.per_day();
    let more = least_remedy(plan, lens, band, MOST_REMOVAL, |plan, k| {
        plan.species[i].removal = Rate::from_per_day(before + k);
    });
    if let Some(k) = more {
        ways.push(format!(
            "bring its removal from {} to {} %/d",
            trimmed(100.0 * before, 2),
            trimmed(100.0 * (before + k), 2)
        ));
    }
    ways
}

/// Whether the keeper adds a solute, by doses or in the top-off.
pub(super) fn is_dosed(plan: &Plan, i: SoluteId) -> bool {
    let regime = &plan.regime;
    let brings = regime.doses.iter().flat_map(|d| &d.brings).chain(regime.dosing.iter().flat_map(|d| &d.per_day));
    let top_off = &plan.waters[regime.top_off.water];
    brings.into_iter().any(|(of, amount)| *of == Component::Solute(i) && *amount > 0.0)
        || top_off.ions_kg_per_l > 0.0 && top_off.solutes[i] > 0.0
}

/// Cuts what the keeper adds by a share.
fn dose_less(plan: &mut Plan, i: SoluteId, cut: f64) {
    let brings = |list: &mut Vec<(Component, f64)>| {
        if list.iter().any(|(of, _)| *of == Component::Solute(i)) {
            for (_, amount) in list {
                *amount *= 1.0 - cut;
            }
        }
    };
    for regime in plan.regimes_mut() {
        regime.doses.iter_mut().for_each(|d| brings(&mut d.brings));
        regime.dosing.iter_mut().for_each(|d| brings(&mut d.per_day));
    }
    let top_off = &mut plan.waters[plan.regime.top_off.water];
    if top_off.ions_kg_per_l > 0.0 {
        top_off.ions_kg_per_l *= 1.0 - cut;
        top_off.solutes.iter_mut().for_each(|held| *held *= 1.0 - cut);
    }
}

fn too_little(plan: &Plan, lens: Lens, band: &Band, i: SoluteId, view: &View) -> Vec<String> {
    let (solute, litres) = (&plan.species[i].solute, plan.tank.operating.litres());
    let most = MOST_SUPPLY * litres * band.low.unwrap_or(0.0);
    // The most that is tried goes past the upper edge: the least that keeps the lower one is what is asked for.
    let lower = Band { high: None, ..*band };
    let supply = least_remedy(plan, lens, &lower, most, |plan, amount| plan.regime.loads[i] += amount);
    supply
        .map(|s| {
            let dose = view.say(&solute.key, s / litres, solute.unit(), 3);
            format!("dose {dose} more of it a day, spread over the day")
        })
        .into_iter()
        .collect()
}

/// Mixing new water so that the tank settles in the middle of the band, or, where it has no settled cycle, so that the
/// run keeps it.
fn salinity(plan: &Plan, lens: Lens, band: &Band) -> Vec<String> {
    let (Some(low), Some(high)) = (band.low, band.high) else { return Vec::new() };
    let Some(water) = plan.regime.changes.first().map(|c| c.water).or(plan.regime.exchange.map(|e| e.water)) else {
        return Vec::new();
    };
    let mixed = |psu: f64| {
        let mut mixed = plan.clone();
        mixed.output_every = None;
        mixed.waters[water].salinity = PracticalSalinity::from_psu(psu);
        mixed
    };
    let best = match lens {
        Lens::Settled => mix_to(plan, water, Variable::Salinity, 0.5 * (low + high)).ok().map(|mix| mix.value),
        Lens::SecondHalf => {
            // The salinity follows that of the new water: where the run lies in the middle of the band.
            let off = |psu: f64| lens.span(&mixed(psu), band).map_or(f64::NAN, |(a, b)| a + b - low - high);
            crate::numerics::find_root(off, 0.0, MOST_PSU, 0.01).ok()
        }
    };
    let kept = |psu: &f64| lens.band_use(&mixed(*psu), band).is_ok_and(|used| used <= 1.0);
    best.filter(kept).map(|psu| format!("mix the new water to {} psu", trimmed(psu, 1))).into_iter().collect()
}

/// Saltiest new water that is tried \[psu\].
const MOST_PSU: f64 = 42.0;
