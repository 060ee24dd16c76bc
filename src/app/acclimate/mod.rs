//! `acclimate`: the drip that brings animals from the water they came in to that of the tank.

mod answer;
mod request;
mod words;

pub use answer::AcclimateAnswer;
pub use request::AcclimateRequest;

use crate::app::AppError;
use crate::results::{Caution, Warning};
use crate::sizing::{Drip, drip};
use crate::units::trimmed;

/// A day's work at a drip is more than this \[h\] (common practice, no source).
const LONG_H: f64 = 6.0;

/// Works the drip out.
///
/// # Errors
///
/// [`AppError::Usage`] where a number is not possible.
pub fn acclimate(request: &AcclimateRequest) -> Result<AcclimateAnswer, AppError> {
    for (flag, value, low, high) in [("rate", request.psu_per_h, 0.05, 20.0), ("close", request.close_psu, 0.1, 5.0)] {
        if !(low..=high).contains(&value) {
            return Err(AppError::Usage(format!(
                "--{flag}: {} is not possible: allowed are {low} to {high}",
                trimmed(value, 3)
            )));
        }
    }
    let (vessel_l, from, to) = (request.vessel.litres(), request.from.psu(), request.to.psu());
    let found = drip(vessel_l, from, to, request.psu_per_h, request.close_psu);
    let found = found.unwrap_or(Drip { litres_per_h: 0.0, drops_per_s: 0.0, rounds: 0, hours: 0.0, litres: 0.0 });
    let mut warnings = Vec::new();
    if found.hours > LONG_H {
        warnings.push(Warning::new(
            "long-drip",
            format!("{} h is long in a small vessel: ammonia builds up, and the pH moves", trimmed(found.hours, 0)),
            "set a quarantine tank to their salinity instead, and move it over days: brinecast correct",
        ));
    }
    Ok(AcclimateAnswer {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        basis: "ideal".into(),
        vessel_l,
        from_psu: from,
        to_psu: to,
        flow_l_per_h: found.litres_per_h,
        drops_per_s: found.drops_per_s,
        rounds: found.rounds,
        hours: found.hours,
        litres: found.litres,
        warnings,
        cautions: [Caution::Animals, Caution::Electricity].map(|c| c.text().to_owned()).to_vec(),
    })
}
