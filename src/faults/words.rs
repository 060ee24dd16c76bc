//! Words and small numbers that several faults share.

use crate::model::{Plan, Water};
use crate::solutes::View;
use crate::units::{PracticalSalinity, Volume, VolumeRate, trimmed};

/// What there is in the reservoir.
pub(super) fn reservoir(plan: &Plan, view: &View) -> String {
    let capacity = plan.regime.top_off.reservoir.as_ref().map(|r| r.capacity);
    capacity.map_or("a reservoir that never ends".into(), |c: Volume| {
        format!("{} in the reservoir", view.say("volume", c.litres(), "L", 3))
    })
}

/// A flow in words.
pub(super) fn rate(rate: VolumeRate, view: &View) -> String {
    view.say("flow", rate.litres_per_day(), "L/d", 2)
}

/// A number with its sign.
pub(super) fn signed(value: f64) -> String {
    format!("{}{}", if value > 0.0 { "+" } else { "" }, trimmed(value, 2))
}

/// What is dissolved in tap water: 350 mg/L in all, 10 mg/L of nitrate, 0.5 mg/L of phosphate (common
/// practice, no source); a scenario's own water named `tap` comes first.
const TAP_PSU: f64 = 0.35;
const TAP_SOLUTES: [(&str, f64); 2] = [("nitrate", 10.0), ("phosphate", 0.5)];

/// Adds a water with a share of what is in tap water.
pub(super) fn add_tap(plan: &mut Plan, name: &str, share: f64) {
    let own = plan.waters.iter().find(|w| w.name.contains("tap")).cloned();
    let tap = own.unwrap_or_else(|| {
        let usual = |key: &str| TAP_SOLUTES.iter().find(|(k, _)| *k == key).map_or(0.0, |(_, c)| *c);
        let solutes = plan.species.iter().map(|s| usual(&s.solute.key));
        Water::new("", PracticalSalinity::from_psu(TAP_PSU), plan.tank.temperature, solutes)
    });
    plan.waters.push(Water {
        name: name.into(),
        salinity: PracticalSalinity::from_psu(share * tap.salinity.psu()),
        solutes: tap.solutes.iter().map(|c| share * c).collect(),
        ..tap
    });
}

/// What comes in with a share of tap water, in words.
pub(super) fn tap_words(plan: &Plan, view: &View, share: f64) -> String {
    let mut with = plan.clone();
    add_tap(&mut with, "", share);
    let Some(water) = with.waters.last() else { return String::new() };
    let mut words = vec![format!("{} psu", trimmed(water.salinity.psu(), 2))];
    for (species, amount) in plan.species.iter().zip(&water.solutes) {
        if *amount > 0.0 {
            let solute = &species.solute;
            words.push(format!("{} {}", view.say(&solute.key, *amount, solute.unit(), 2), solute.key));
        }
    }
    words.join(", ")
}
