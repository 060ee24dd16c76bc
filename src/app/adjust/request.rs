//! What `adjust` is asked.

use crate::instruments::{Calibration, Errors};
use crate::sizing::SaltMix;
use crate::units::{PracticalSalinity, Temperature, Volume};

/// What is asked for.
#[derive(Clone, Debug)]
pub struct AdjustRequest {
    /// Water in the vessel.
    pub volume: Volume,
    /// What the meter shows.
    pub reads: PracticalSalinity,
    /// What is wanted.
    pub want: PracticalSalinity,
    /// Temperature of the water.
    pub temperature: Temperature,
    /// What the vessel holds at most; where it is absent there is room.
    pub capacity: Option<Volume>,
    /// Errors of the meter.
    pub errors: Errors,
    /// The meter held against standards; it takes the place of its bias and slope.
    pub calibration: Option<Calibration>,
    /// The salt mix.
    pub mix: SaltMix,
}
