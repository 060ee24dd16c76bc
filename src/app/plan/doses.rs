//! Doses in a plan of work: those by hand at their times, the others in words, so that nothing that the tank gets is left out.

use crate::app::Loaded;
use crate::model::{Dose, Regime};

/// Shortest interval that a hand keeps to \[d\].
const BY_HAND_D: f64 = 1.0;

/// Whether a dose is one for the calendar: what comes oftener is for a pump.
pub(super) fn by_hand(dose: &Dose) -> bool {
    dose.schedule.period().is_none_or(|period| period >= BY_HAND_D)
}

/// How much, as the file says it.
pub(super) fn amount(loaded: &Loaded, name: &str) -> String {
    let given = |key: &str| loaded.document.given(&format!("doses.{name}.{key}"));
    let amount = given("amount").or_else(|| given("rate"));
    match (amount, given("of").filter(|of| of != name)) {
        (Some(amount), Some(of)) => format!("{amount} of {}", of.replace('_', " ")),
        (Some(amount), None) => amount,
        (None, _) => String::new(),
    }
}

/// What a pump doses, each with its amount.
pub(super) fn by_pump(loaded: &Loaded, regime: &Regime) -> Vec<String> {
    let often = regime.doses.iter().filter(|dose| !by_hand(dose)).map(|dose| {
        let every = loaded.document.given(&format!("doses.{}.every", dose.name));
        (&dose.name, every.map_or(String::new(), |every| format!(" every {every}")))
    });
    let always = regime.dosing.iter().map(|dosing| (&dosing.name, String::new()));
    often
        .chain(always)
        .map(|(name, every)| {
            format!("{} {}{every}", name.replace('_', " "), amount(loaded, name)).trim_end().to_owned()
        })
        .collect()
}
