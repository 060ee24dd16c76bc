//! `mix-to`: what to mix new water to, so that the tank settles on target.

mod answer;
mod request;
mod words;

pub use answer::{MixToAnswer, MixToLine};
pub use request::MixToRequest;

use crate::app::{AppError, Loaded};
use crate::model::Variable;
use crate::results::Warning;
use crate::sizing;
use crate::units::significant;

/// A new water further than this \[psu\] from the tank is a step that animals feel (common practice, no source).
const LARGE_STEP_PSU: f64 = 3.0;

/// Works it out for the salinity (that of the request, or the tank's at the start) and for the alkalinity.
///
/// ```
/// use brinecast::app::{MixToRequest, load, mix_to};
/// let answer = mix_to(&load("mixed-reef", &[])?, &MixToRequest::default())?;
/// assert!(answer.lines[0].mix_to > answer.lines[0].target, "a skimmer takes salt out, so new water is mixed stronger");
/// # Ok::<(), brinecast::app::AppError>(())
/// ```
pub fn mix_to(loaded: &Loaded, request: &MixToRequest) -> Result<MixToAnswer, AppError> {
    let plan = &loaded.scenario.plan;
    let water = plan
        .regime
        .changes
        .first()
        .map(|c| c.water)
        .or(plan.regime.exchange.map(|e| e.water))
        .ok_or_else(|| AppError::Usage("the scenario changes no water, so there is nothing to mix".into()))?;
    let mut lines = Vec::new();
    let mut warnings = Vec::new();
    let alkalinity = plan.solute("alkalinity");
    let mut wanted = vec![(Variable::Salinity, request.target.unwrap_or(plan.tank.salinity).psu())];
    if let Some(i) = alkalinity {
        wanted.push((Variable::Solute(i), plan.species[i].initial));
    }
    for (of, target) in wanted {
        let (key, unit) = match of {
            Variable::Salinity => ("salinity".to_owned(), "psu"),
            Variable::Solute(i) => (plan.species[i].solute.key.to_string(), plan.species[i].solute.unit()),
        };
        match sizing::mix_to(plan, water, of, target) {
            Ok(found) => {
                if of == Variable::Salinity && (found.value - target).abs() > LARGE_STEP_PSU {
                    warnings.push(Warning::new(
                        "far-from-the-tank",
                        format!(
                            "new water of {} psu is far from the tank's {}",
                            significant(found.value, 4),
                            significant(target, 4)
                        ),
                        "stop the loss first: a drier skimmer, salt water as part of the top-off",
                    ));
                }
                lines.push(MixToLine {
                    key,
                    unit: unit.into(),
                    target,
                    mix_to: found.value,
                    settles_at_target: found.at_target,
                    settles_as_is: found.as_is,
                });
            }
            Err(error) if of == Variable::Salinity => return Err(AppError::Usage(error.to_string())),
            Err(error) => warnings.push(Warning::new(
                "no-mix-to",
                format!("{key}: {error}"),
                "dose it between changes: changes alone do not carry this demand",
            )),
        }
    }
    Ok(MixToAnswer {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: loaded.scenario.name.clone(),
        basis: plan.basis.key().into(),
        water: plan.waters[water].name.clone(),
        lines,
        warnings,
        cautions: vec![CAUTION.into()],
        meter: request.meter,
    })
}

const CAUTION: &str = "check each batch with a calibrated instrument; change living animals' water slowly.";
