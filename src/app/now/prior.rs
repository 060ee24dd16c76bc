//! What is known before the log: the spreads of the scenario, as a fitted file has them.

use crate::app::fit::key_of;
use crate::learn::{LogModel, Parameter};
use crate::model::Plan;
use crate::results::Warning;
use crate::study::{Spread, Uncertainty};
use crate::units::number_with_unit;

/// The key of the salinity with which a tank begins.
const START: &str = "tank.salinity";

/// What a spread says of a parameter: its middle, where that is not the plan's own rate, and its deviation; of the logarithm where
/// `logarithm`.
fn believed(plan: &Plan, of: Parameter, spread: &Spread, logarithm: bool) -> Option<(Option<f64>, f64)> {
    let at = |z: f64| number_with_unit(&spread.at_deviation(z)).ok().map(|(n, _)| n);
    let middle = match of {
        Parameter::StartSalinity => Some(plan.tank.salinity.psu()),
        Parameter::Start(i) => Some(plan.species[i].initial),
        // What a meter shows too much is told by the spread alone.
        Parameter::Bias => Some(at(0.0)?),
        // Rates, the volume and the strength of new water are the plan's, and new water is off from that by nothing.
        _ => None,
    };
    if logarithm {
        return Some((middle, spread.log_deviation()?));
    }
    // In the fit's own unit, whatever the spread is written in.
    let scale = middle.filter(|m| *m != 0.0).map_or(Some(1.0), |m| Some(m.abs() / at(0.0)?.abs()))?;
    Some((middle, 0.5 * (at(1.0)? - at(-1.0)?) * scale))
}

/// A model that believes what the spreads of a scenario say, and a word on those that have no part.
pub(super) fn with_spreads<'a>(
    model: LogModel<'a>,
    plan: &Plan,
    uncertainty: &Uncertainty,
) -> (LogModel<'a>, Option<Warning>) {
    let keys: Vec<(String, Parameter)> =
        model.parameters().filter_map(|of| Some((key_of(plan, of)?.path, of))).collect();
    let parameter = |key: &str| keys.iter().find(|(path, _)| path == key).map(|(_, of)| *of);
    let (mut model, mut left_out) = (model, Vec::new());
    for spread in &uncertainty.spreads {
        let of = parameter(&spread.key);
        let told = of.and_then(|of| Some((of, believed(plan, of, spread, model.by_logarithm(of))?)));
        match told {
            Some((of, (middle, deviation))) => model = model.believing(of, middle, deviation),
            None => left_out.push(spread.key.as_str()),
        }
    }
    let pairs = uncertainty.correlation.pairs();
    let pairs = pairs.filter_map(|(one, other, r)| Some((parameter(one)?, parameter(other)?, r))).collect();
    let warning = (!left_out.is_empty()).then(|| {
        Warning::new(
            "spreads-left-out",
            format!("spreads left out, because the log says nothing about them: {}", left_out.join(", ")),
            "see brinecast ensemble for what they do",
        )
    });
    (model.together(pairs), warning)
}

/// Whether the scenario says how sure the state of the tank at its start is: it is the file of a fit, or written like one.
pub(super) fn begins_where_a_log_ended(uncertainty: &Uncertainty) -> bool {
    uncertainty.spreads.iter().any(|s| s.key == START)
}
