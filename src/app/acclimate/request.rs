//! What `acclimate` is asked.

use crate::units::{PracticalSalinity, Volume};

/// What is asked for.
#[derive(Clone, Copy, Debug)]
pub struct AcclimateRequest {
    /// Water that the animals came in.
    pub vessel: Volume,
    /// Its salinity.
    pub from: PracticalSalinity,
    /// That of the tank.
    pub to: PracticalSalinity,
    /// Most that the salinity may move in an hour \[psu\].
    pub psu_per_h: f64,
    /// Close enough to move them over \[psu\].
    pub close_psu: f64,
}
