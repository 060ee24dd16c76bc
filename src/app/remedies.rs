//! Where no regime of changes does it: how much of another lever would.

use crate::model::{Band, Plan, Watched};
use crate::sizing::mix_to;
use crate::solutes::View;
use crate::study::{Judged, band_use, least_remedy, span};
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
            let name = span(&judged.settled, band).key.replace('_', " ");
            let ways = match band.of {
                Watched::Salinity => salinity(plan, band),
                Watched::Solute(i) if band.high.is_some_and(|h| judged.settled.solutes[i].peak > h) => {
                    too_much(plan, band, i, view)
                }
                Watched::Solute(i) => too_little(plan, band, i, view),
            };
            if ways.is_empty() {
                format!("{name}: none of load, removal, dose or mix does it alone")
            } else {
                format!("{name}: {}", ways.join("; or "))
            }
        })
        .collect()
}

fn too_much(plan: &Plan, band: &Band, i: usize, view: &View) -> Vec<String> {
    let solute = &plan.species[i].solute;
    let (shown, litres) = (view.of(&solute.key, solute.unit()), plan.tank.operating.litres());
    let mut ways = Vec::new();
    let less = least_remedy(plan, band, 1.0, |plan, cut| {
        plan.regime.loads[i] *= 1.0 - cut;
        plan.regime.feed[i] *= 1.0 - cut;
    });
    let now = (plan.regime.loads[i] + plan.regime.feed[i]) / litres;
    if let Some(cut) = less {
        ways.push(format!(
            "bring its load from {} to {} {}/d",
            significant(shown.value(now), 3),
            significant(shown.value(now * (1.0 - cut)), 3),
            shown.unit
        ));
    }
    let before = plan.species[i].removal.per_day();
    let more = least_remedy(plan, band, MOST_REMOVAL, |plan, k| {
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

fn too_little(plan: &Plan, band: &Band, i: usize, view: &View) -> Vec<String> {
    let (solute, litres) = (&plan.species[i].solute, plan.tank.operating.litres());
    let most = MOST_SUPPLY * litres * band.low.unwrap_or(0.0);
    let supply = least_remedy(plan, band, most, |plan, amount| plan.regime.loads[i] += amount);
    supply
        .map(|s| {
            let dose = view.say(&solute.key, s / litres, solute.unit(), 3);
            format!("dose {dose} more of it a day, spread over the day")
        })
        .into_iter()
        .collect()
}

fn salinity(plan: &Plan, band: &Band) -> Vec<String> {
    let (Some(low), Some(high)) = (band.low, band.high) else { return Vec::new() };
    let Some(water) = plan.regime.changes.first().map(|c| c.water).or(plan.regime.exchange.map(|e| e.water)) else {
        return Vec::new();
    };
    let Ok(mix) = mix_to(plan, water, Watched::Salinity, 0.5 * (low + high)) else { return Vec::new() };
    let mut mixed = plan.clone();
    mixed.waters[water].salinity = PracticalSalinity::from_psu(mix.value);
    let kept = crate::engine::settle(&mixed).is_ok_and(|s| band_use(&s, band) <= 1.0);
    if kept { vec![format!("mix the new water to {} psu", trimmed(mix.value, 1))] } else { Vec::new() }
}
