//! The key of a scenario that a parameter of a fit is, in one place for whoever writes it and whoever reads it.

use crate::learn::Parameter;
use crate::model::{LOSSES, Plan};
use crate::solutes::{Base, Solute};

/// A key, and how it is written.
pub(in crate::app) struct KeyOf {
    /// Dotted.
    pub(in crate::app) path: String,
    pub(in crate::app) unit: String,
    /// Units of the key in one of the fit.
    pub(in crate::app) scale: f64,
    /// Whether it is written with a spread of its logarithm.
    pub(in crate::app) logarithm: bool,
}

/// The key of a parameter; nothing for a step or a season, which a scenario says in other words.
pub(in crate::app) fn key_of(plan: &Plan, of: Parameter) -> Option<KeyOf> {
    let key = |path: String, unit: &str, scale: f64, logarithm: bool| {
        Some(KeyOf { path, unit: unit.to_owned(), scale, logarithm })
    };
    let daily = |solute: &Solute| format!("{}/d", solute.unit());
    match of {
        Parameter::Evaporation => key("evaporation.rate".into(), "L/d", 1.0, true),
        Parameter::Skimmate => key(format!("losses.{}", LOSSES[0].key), "L/d", 1.0, true),
        Parameter::Volume => key("tank.volume".into(), "L", 1.0, true),
        Parameter::Bias => key("meter.bias".into(), "psu", 1.0, false),
        Parameter::StartSalinity => key("tank.salinity".into(), "psu", 1.0, false),
        Parameter::LotStep => {
            let water = &plan.waters[plan.new_water()];
            key(format!("waters.{}.salinity", water.name), "psu", 1.0, false)
        }
        Parameter::Load(i) => {
            let solute = &plan.species[i].solute;
            key(format!("solutes.{}.load", solute.key), &daily(solute), 1.0, true)
        }
        Parameter::Removal(i) => key(format!("solutes.{}.removal", plan.species[i].solute.key), "%/d", 100.0, true),
        Parameter::Demand(i) => {
            let species = &plan.species[i];
            let unit = daily(&species.solute);
            if species.calcified_per_day > 0.0 {
                let share = species.calcified_per_day / species.uptake_per_day;
                key("calcification.alkalinity".into(), &unit, share, true)
            } else {
                key(format!("solutes.{}.uptake", species.solute.key), &unit, 1.0, true)
            }
        }
        Parameter::Start(i) => {
            let solute = &plan.species[i].solute;
            let (unit, scale) = concentration(solute);
            key(format!("solutes.{}.start", solute.key), unit, scale, true)
        }
        Parameter::MeterStep
        | Parameter::EvaporationStep
        | Parameter::LoadStep(_)
        | Parameter::SeasonCosine
        | Parameter::SeasonSine => None,
    }
}

/// How a concentration is written, and how many of that are in one of the program's.
pub(super) fn concentration(solute: &Solute) -> (&'static str, f64) {
    match solute.base {
        Base::Milliequivalents => ("meq/L", 1.0),
        Base::Milligrams | Base::MilligramsOfNitrogen => ("mg/L", 1.0 / solute.plain),
    }
}
