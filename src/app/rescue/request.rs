//! What `rescue` is asked.

use crate::sizing::NewWater;
use crate::units::{Temperature, UnitSystem};

/// What is asked for.
#[derive(Clone, Debug)]
pub struct RescueRequest {
    /// The solute, or a name of something that the scenario does not track.
    pub of: String,
    /// Where it is, with its unit.
    pub from: String,
    /// Where it should go.
    pub to: String,
    /// What the new water holds of it; that of the scenario's new water, or nothing, where it is absent.
    pub new: Option<String>,
    /// The rise a day that is still coming in; that of the scenario, or nothing, where it is absent.
    pub load: Option<String>,
    /// Litres of new water that are ready, and that are made a day.
    pub water: NewWater,
    /// Largest share of the tank in one change.
    pub most_share: f64,
    /// Temperature of the new water.
    pub temperature: Option<Temperature>,
    /// Units of the words.
    pub units: UnitSystem,
}
