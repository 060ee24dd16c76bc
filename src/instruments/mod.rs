//! Meters: what each shows for a true salinity, and back. One file each.

mod straight;

pub use straight::Straight;

use crate::units::PracticalSalinity;

/// A salinity meter, read on the practical scale.
pub trait Meter: std::fmt::Debug + Send + Sync {
    /// What the keeper sees for a true salinity, without noise.
    fn shows(&self, truth: PracticalSalinity) -> PracticalSalinity;
    /// The true salinity behind a reading.
    fn truth(&self, shown: PracticalSalinity) -> PracticalSalinity;
    /// One standard deviation of a single reading \[psu\].
    fn noise_psu(&self) -> f64;
}
