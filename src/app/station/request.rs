//! What `station` is asked.

/// What is asked for.
#[derive(Clone, Debug)]
pub struct StationRequest {
    /// The chance of shortage that is accepted.
    pub accepted: f64,
    /// Members of the study of shortage.
    pub members: u64,
    /// Seed.
    pub seed: u64,
    /// Chance that a change is missed.
    pub missed: f64,
    /// Days without water and salt from outside that the stores are sized for.
    pub without_supply_d: f64,
    /// Day of the round, in days from the start; the first day with a change where it is absent.
    pub round_day: Option<u32>,
}
