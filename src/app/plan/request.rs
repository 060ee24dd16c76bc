//! What `plan` is asked.

use jiff::civil::Date;

use crate::sizing::Purifier;
use crate::units::{Duration, Power, Temperature};

/// What is asked for.
#[derive(Clone, Debug)]
pub struct PlanRequest {
    /// First day; the scenario's where it is absent.
    pub from: Option<Date>,
    /// Days to cover.
    pub days: f64,
    /// Time zone, by its name in the IANA database; floating local time where it is absent.
    pub zone: Option<String>,
    /// How long before each item to be reminded.
    pub reminder: Duration,
    /// The purifier, where water must be made for each batch.
    pub purifier: Option<Purifier>,
    /// The heater, and the temperature of the room.
    pub heater: Option<Power>,
    /// See above.
    pub room: Temperature,
}
