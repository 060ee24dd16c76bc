//! `mix-to`: what to mix new water to, so that the tank settles on target.

mod answer;
mod request;
mod words;

pub use answer::{MixToAnswer, MixToLine};
pub use request::MixToRequest;

use crate::app::{AppError, Loaded};
use crate::chemicals::chemical;
use crate::engine::settle;
use crate::model::{Plan, SoluteId, Variable, WaterId};
use crate::results::Warning;
use crate::sizing::{self, MixTo, MixToError};
use crate::solutes::View;
use crate::units::{PracticalSalinity, significant};

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
    let wanted = request.target.unwrap_or(plan.tank.salinity).psu();
    let found = sizing::mix_to(plan, water, Variable::Salinity, wanted).map_err(|e| AppError::Usage(e.to_string()))?;
    let mut warnings = Vec::new();
    if (found.value - wanted).abs() > LARGE_STEP_PSU {
        warnings.push(Warning::new(
            "far-from-the-tank",
            format!(
                "new water of {} psu is far from the tank's {}",
                significant(found.value, 4),
                significant(wanted, 4)
            ),
            "reduce the loss first: set the skimmer drier, or use some salt water as top-off",
        ));
    }
    let mut lines = vec![line("salinity", "psu", wanted, &found)];
    // What is part of the mix comes with it, at the salinity found.
    let mut mixed = plan.clone();
    mixed.waters[water].salinity = PracticalSalinity::from_psu(found.value);
    if let Some(i) = plan.solute("alkalinity") {
        match alkalinity(plan, &mixed, water, i) {
            Ok(line) => lines.push(line),
            Err(error) => warnings.push(not_by_mixing(&loaded.scenario.view(), &mixed, i, &error.to_string())),
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

fn line(key: &str, unit: &str, target: f64, found: &MixTo) -> MixToLine {
    MixToLine {
        key: key.into(),
        unit: unit.into(),
        target,
        mix_to: found.value,
        settles_at_target: found.at_target,
        settles_as_is: found.as_is,
        mix_brings: None,
        soda_g_per_l: None,
    }
}

/// The alkalinity of new water that is mixed to the salinity found, what the mix brings of it, and the rest.
fn alkalinity(plan: &Plan, mixed: &Plan, water: WaterId, i: SoluteId) -> Result<MixToLine, MixToError> {
    let species = &plan.species[i];
    let found = sizing::mix_to(mixed, water, Variable::Solute(i), species.initial)?;
    let own = &mixed.waters[water];
    let brings = own.concentration(plan.basis, i).ok().filter(|_| own.per_salt_kg[i] > 0.0);
    let rest = brings.map(|brings| found.value - brings).filter(|rest| *rest > 0.0);
    // As it is means with the water as it is named, not yet mixed to another salinity.
    let as_is =
        settle(plan).map_or(found.as_is, |settled| settled.of(&species.solute.key).map_or(found.as_is, |s| s.mean));
    Ok(MixToLine {
        settles_as_is: as_is,
        mix_brings: brings,
        soda_g_per_l: rest.zip(chemical("NaHCO3")).map(|(meq, soda)| meq / soda.brings(1.0).alkalinity_meq),
        ..line(&species.solute.key, species.solute.unit(), species.initial, &found)
    })
}

/// A demand that new water does not carry, and the dose a day that does.
fn not_by_mixing(view: &View, mixed: &Plan, i: SoluteId, why: &str) -> Warning {
    let species = &mixed.species[i];
    let litres = mixed.tank.operating.litres();
    let dose = sizing::supplement(mixed, i, species.initial).ok().flatten();
    let by = dose.zip(chemical("NaHCO3")).map_or(String::new(), |(meq, soda)| {
        format!(
            ": {} a day, or {} g of NaHCO3, holds it (say so under [doses] with as = \"NaHCO3\", and ask again: its salt counts)",
            view.say(&species.solute.key, meq / litres, species.solute.unit(), 3),
            significant(meq / soda.brings(1.0).alkalinity_meq, 3)
        )
    });
    Warning::new(
        "no-mix-to",
        format!("{}: {why}", species.solute.key),
        format!("dose it between changes: changes alone cannot supply it{by}"),
    )
}

const CAUTION: &str = "check each batch with a calibrated instrument; change living animals' water slowly.";
