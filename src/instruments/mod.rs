//! Meters: what each shows for a true salinity, and back. One file each.
//!
//! A meter reads on its own scale; the keeper turns the reading into a salinity, by the assumption
//! that [`Meter::assumption`] states. The difference between that salinity and the true one is the
//! error that a batch mixed to the meter carries.

mod calibration;
mod conductivity_meter;
mod errors;
mod hydrometer;
mod refractometer;
mod straight;

pub use calibration::{Calibration, CalibrationError, brine_standard};
pub use conductivity_meter::{Compensation, ConductivityMeter};
pub use errors::Errors;
pub use hydrometer::{Body, Hydrometer};
pub use refractometer::{Refractometer, RefractometerScale};
pub use straight::Straight;

use crate::numerics::find_root;
use crate::seawater::{RangeError, ValidRange};
use crate::units::{PracticalSalinity, Temperature};

/// A salinity meter.
pub trait Meter: std::fmt::Debug + Send + Sync {
    /// Its kind in scenario files.
    fn key(&self) -> &'static str;
    /// What it assumes, in words.
    fn assumption(&self) -> String;
    /// Its reading, as it stands on its own scale, for a true salinity, without noise.
    fn reading(&self, truth: PracticalSalinity, temperature: Temperature) -> Result<String, RangeError>;
    /// The salinity that the keeper takes from it, without noise.
    fn shows(&self, truth: PracticalSalinity, temperature: Temperature) -> Result<PracticalSalinity, RangeError>;
    /// One standard deviation of a single reading \[psu\].
    fn noise_psu(&self) -> f64;
    /// Smallest step of its scale \[psu\].
    fn resolution_psu(&self) -> f64;

    /// One standard deviation of the salinity behind a single reading \[psu\]: noise, and the rounding to
    /// the scale's step, which is uniform (variance step²/12).
    fn uncertainty_psu(&self) -> f64 {
        (self.noise_psu().powi(2) + self.resolution_psu().powi(2) / 12.0).sqrt()
    }

    /// The true salinity behind what the keeper takes from it.
    fn truth(&self, shown: PracticalSalinity, temperature: Temperature) -> Result<PracticalSalinity, RangeError> {
        invert(shown, |s| self.shows(s, temperature))
    }
}

/// Salinities \[psu\] between which every meter works.
const SPAN: ValidRange =
    ValidRange { of: "salinity [psu]", low: 0.0, high: 40.0, property: "meter", source: "the range of its formulas" };

/// The salinity that `shows` turns into `shown`; beyond 0 to 40 there is none.
fn invert(
    shown: PracticalSalinity,
    shows: impl Fn(PracticalSalinity) -> Result<PracticalSalinity, RangeError>,
) -> Result<PracticalSalinity, RangeError> {
    let excess = |s: f64| shows(PracticalSalinity::from_psu(s)).map_or(f64::NAN, |r| r.psu() - shown.psu());
    let outside = RangeError { value: shown.psu(), range: SPAN };
    // At the ends a meter may be off its own scale: one psu at a time towards the middle.
    let steps = || (0..=40).map(f64::from);
    let low = steps().find(|s| !excess(*s).is_nan()).ok_or(outside)?;
    let high = steps().rev().find(|s| !excess(*s).is_nan()).ok_or(outside)?;
    find_root(excess, low, high, 1e-11).map(PracticalSalinity::from_psu).map_err(|_| outside)
}
