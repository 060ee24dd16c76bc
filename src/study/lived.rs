//! What a member lives through in a span of its run: whether its bands are kept, how badly they are left, and what it takes.

use super::choose::use_between;
use crate::engine::{EngineError, Nothing, Simulation, Statistics};
use crate::model::Plan;
use crate::units::YEAR_D;

/// What a member came to between two days.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lived {
    /// Whether every band was kept.
    pub kept: bool,
    /// Largest use of any band: 1 at an edge.
    pub worst_use: f64,
    /// Salt water \[L/year\].
    pub litres: f64,
    /// Dry sea salt \[kg/year\].
    pub salt_kg: f64,
    /// Work \[min/year\].
    pub minutes: f64,
    /// Money a year, where a price is known.
    pub cost: Option<f64>,
}

/// Runs a plan and looks at it from one day to another; what it did before does not count.
///
/// # Errors
///
/// Where the plan cannot be run.
pub fn live(plan: &Plan, from_d: f64, until_d: f64) -> Result<Lived, EngineError> {
    let mut simulation = Simulation::new(plan)?;
    simulation.run_until(from_d, &mut Nothing)?;
    let before = simulation.tally().clone();
    let mut statistics = Statistics::new(plan.species.len(), &plan.bands);
    simulation.show("", &mut statistics);
    simulation.run_until(until_d, &mut statistics)?;
    let tally = simulation.tally().since(&before);
    let years = (until_d - from_d) / YEAR_D;
    let uses = plan.bands.iter().map(|band| {
        let watch = statistics.variables.iter().find(|w| w.of == Some(band.of));
        watch.map_or(0.0, |w| use_between(band, w.lowest.0, w.highest.0))
    });
    let kept = plan.bands.iter().all(|band| {
        let watch = statistics.variables.iter().find(|w| w.of == Some(band.of));
        watch.is_none_or(|w| w.left_at_d.is_none())
    });
    Ok(Lived {
        kept,
        worst_use: uses.fold(0.0, f64::max),
        litres: tally.salt_water_l / years,
        salt_kg: tally.salt_kg / years,
        minutes: tally.minutes(&plan.costs) / years,
        cost: tally.cost(&plan.costs).map(|c| c / years),
    })
}
