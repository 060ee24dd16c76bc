//! What is known before the log: the spreads of the scenario, as a fitted file has them.

use crate::learn::{LogModel, Parameter};
use crate::model::{LOSSES, Plan};
use crate::study::{Spread, Uncertainty};
use crate::units::number_with_unit;

/// The parameter that a key is, where it is one.
fn parameter(plan: &Plan, key: &str) -> Option<Parameter> {
    if key == format!("losses.{}", LOSSES[0].key) {
        return Some(Parameter::Skimmate);
    }
    Some(match key {
        "evaporation.rate" => Parameter::Evaporation,
        "tank.volume" => Parameter::Volume,
        "tank.salinity" => Parameter::StartSalinity,
        "meter.bias" => Parameter::Bias,
        "calcification.alkalinity" => Parameter::Demand(plan.solute("alkalinity")?),
        _ => {
            let (solute, last) = key.strip_prefix("solutes.")?.rsplit_once('.')?;
            let i = plan.solute(solute)?;
            match last {
                "load" => Parameter::Load(i),
                "removal" => Parameter::Removal(i),
                "uptake" => Parameter::Demand(i),
                "start" => Parameter::Start(i),
                _ => return None,
            }
        }
    })
}

/// The value of a parameter in a plan, as a fit counts it.
fn value(plan: &Plan, of: Parameter) -> f64 {
    let litres = plan.tank.operating.litres();
    let regime = &plan.regime;
    match of {
        Parameter::Evaporation => regime.evaporation.mean(),
        Parameter::Skimmate => regime.outflows.iter().map(|o| o.rate.litres_per_day()).sum(),
        Parameter::Volume => litres,
        Parameter::StartSalinity => plan.tank.salinity.psu(),
        Parameter::Load(i) => (regime.loads[i] + regime.feed[i]) / litres,
        Parameter::Removal(i) => plan.species[i].removal.per_day(),
        Parameter::Demand(i) => plan.species[i].uptake_per_day / litres,
        Parameter::Start(i) => plan.species[i].initial,
        // What a meter shows too much is told by the spread itself.
        Parameter::Bias
        | Parameter::LotStep
        | Parameter::MeterStep
        | Parameter::EvaporationStep
        | Parameter::LoadStep(_)
        | Parameter::SeasonCosine
        | Parameter::SeasonSine => 0.0,
    }
}

/// Standard deviation of a spread, of the logarithm where `logarithm`; as a share of its middle or in its own unit.
fn deviation(spread: &Spread, middle: f64, logarithm: bool) -> Option<f64> {
    if logarithm {
        return spread.log_deviation();
    }
    let at = |z: f64| number_with_unit(&spread.at_deviation(z)).ok().map(|(n, _)| n);
    let (low, mid, high) = (at(-1.0)?, at(0.0)?, at(1.0)?);
    // In the fit's own unit, whatever the spread is written in.
    let scale = if mid == 0.0 || middle == 0.0 { 1.0 } else { (middle / mid).abs() };
    Some(0.5 * (high - low) * scale)
}

/// A model that believes what the spreads of a scenario say. Says whether the state of the tank at the start is among them.
pub(super) fn with_spreads<'a>(model: LogModel<'a>, plan: &Plan, uncertainty: &Uncertainty) -> LogModel<'a> {
    let mut model = model;
    for spread in &uncertainty.spreads {
        let Some(of) = parameter(plan, &spread.key) else { continue };
        let own = || number_with_unit(&spread.at_deviation(0.0)).map_or(0.0, |(n, _)| n);
        let middle = if of == Parameter::Bias { own() } else { value(plan, of) };
        if let Some(deviation) = deviation(spread, middle, model.by_logarithm(of)) {
            model = model.believing(of, middle, deviation);
        }
    }
    let pairs = uncertainty
        .correlation
        .pairs()
        .filter_map(|(one, other, r)| Some((parameter(plan, one)?, parameter(plan, other)?, r)));
    model.together(pairs.collect())
}

/// Whether the scenario says how sure the state of the tank at its start is: it is the file of a fit, or written like one.
pub(super) fn begins_where_a_log_ended(uncertainty: &Uncertainty) -> bool {
    uncertainty.spreads.iter().any(|s| s.key == "tank.salinity")
}
