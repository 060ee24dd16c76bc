//! What is to be so: a measure at a value, or bands that are kept.

use crate::app::{AppError, Loaded};
use crate::model::{Band, Plan, Variable};
use crate::scenario::Scenario;
use crate::solutes::parse_concentration;
use crate::study::{Lens, Measure, MeasuredQuantity, measure};
use crate::units::{Duration, Mass, PracticalSalinity, Volume, number_with_unit, parse};

/// A goal.
pub(super) enum Goal {
    /// A measure at a value, in the measure's own unit.
    Meets { name: String, measure: Measure, unit: String, target: f64 },
    /// Bands that are kept, seen through a lens: the largest use of any is 1.
    Keeps { what: String, bands: Vec<Band>, lens: Lens },
}

impl Goal {
    /// Reads `settled.nitrate.peak = 12 mg/L`, `bands kept` or `nitrate kept`.
    pub(super) fn parse(text: &str, loaded: &Loaded) -> Result<Self, AppError> {
        let scenario = &loaded.scenario;
        let words: Vec<&str> = text.split_whitespace().collect();
        match words.as_slice() {
            ["band" | "bands", "kept"] => Self::keeps("every band is", scenario.plan.bands.clone(), scenario),
            [key, "kept"] => {
                let of = if *key == "salinity" {
                    Some(Variable::Salinity)
                } else {
                    scenario.plan.solute(key).map(Variable::Solute)
                };
                let own = scenario.plan.bands.iter().filter(|b| Some(b.of) == of).copied().collect();
                Self::keeps(&format!("{} is", key.replace('_', " ")), own, scenario)
            }
            _ => Self::meets(text, scenario),
        }
    }

    fn keeps(what: &str, bands: Vec<Band>, scenario: &Scenario) -> Result<Self, AppError> {
        if bands.is_empty() {
            return Err(AppError::Usage(format!(
                "--so-that: there is no such band in {}\n  = help: give the scenario one, as in --set \"bands.nitrate=below 20 mg/L\"",
                scenario.name
            )));
        }
        // A regime that does not repeat is looked at in the second half of its run.
        let settles = crate::engine::settle(&scenario.plan).is_ok();
        let lens = if settles { Lens::Settled } else { Lens::SecondHalf };
        Ok(Self::Keeps { what: what.to_owned(), bands, lens })
    }

    fn meets(text: &str, scenario: &Scenario) -> Result<Self, AppError> {
        let usage = |why: &dyn std::fmt::Display| {
            AppError::Usage(format!(
                "--so-that `{text}`: {why}\n  = help: examples: --so-that \"settled.nitrate.peak = 12 mg/L\", --so-that \"bands kept\", --so-that \"nitrate kept\""
            ))
        };
        let (name, value) = text.split_once('=').ok_or_else(|| usage(&"it has no `=`, and is no band that is kept"))?;
        let (name, value) = (name.trim(), value.trim());
        let measure = Measure::parse(name).map_err(|e| usage(&e))?;
        let unit = measure.unit(&scenario.plan).map_err(|e| usage(&e))?.to_owned();
        let (number, given) = number_with_unit(value).map_err(|e| usage(&e))?;
        if given.is_empty() && !unit.is_empty() {
            return Err(usage(&format!(
                "the value has no unit: write {number} {}",
                scenario.view().of(name, &unit).unit
            )));
        }
        let gallon = scenario.units.gallon();
        let target = match &measure {
            Measure::Run(q, _) | Measure::Settled(q, _) => match q {
                MeasuredQuantity::Salinity => parse::<PracticalSalinity>(value, gallon).map_err(|e| usage(&e))?.psu(),
                MeasuredQuantity::Solute(key) => concentration(&scenario.plan, key, value).map_err(|e| usage(&e))?,
                MeasuredQuantity::ToxicAmmonia => {
                    concentration(&scenario.plan, "ammonia", value).map_err(|e| usage(&e))?
                }
            },
            Measure::Outside(_) | Measure::HalfLife => parse::<Duration>(value, gallon).map_err(|e| usage(&e))?.days(),
            Measure::Minutes => 1440.0 * parse::<Duration>(value, gallon).map_err(|e| usage(&e))?.days(),
            Measure::Litres | Measure::TopOff | Measure::Waste => {
                parse::<Volume>(value, gallon).map_err(|e| usage(&e))?.litres()
            }
            Measure::Salt => parse::<Mass>(value, gallon).map_err(|e| usage(&e))?.kg(),
            Measure::Cost if given == unit => number,
            Measure::Cost => return Err(usage(&format!("prices here are in {unit}"))),
        };
        Ok(Self::Meets { name: name.to_owned(), measure, unit, target })
    }

    /// What is measured of a plan: the measure, or the largest use of a band.
    pub(super) fn of(&self, plan: &Plan) -> Result<f64, String> {
        match self {
            Self::Meets { measure: what, .. } => measure(plan, what).map_err(|e| e.to_string()),
            Self::Keeps { bands, lens, .. } => bands.iter().try_fold(0.0, |most, band| {
                let used = lens.band_use(plan, band).map_err(|e| e.to_string())?;
                Ok(f64::max(most, used))
            }),
        }
    }

    /// The value at which it is so.
    pub(super) fn target(&self) -> f64 {
        match self {
            Self::Meets { target, .. } => *target,
            Self::Keeps { .. } => 1.0,
        }
    }

    /// What is measured, and its unit as it is counted.
    pub(super) fn measured(&self) -> (&str, &str) {
        match self {
            Self::Meets { name, unit, .. } => (name, unit),
            Self::Keeps { .. } => ("band use", "%"),
        }
    }
}

fn concentration(plan: &Plan, key: &str, value: &str) -> Result<f64, String> {
    let solute = plan.solute(key).map(|i| &plan.species[i].solute).ok_or_else(|| format!("`{key}` is not tracked"))?;
    parse_concentration(solute, value).map_err(|e| e.to_string())
}
