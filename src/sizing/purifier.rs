//! Purified water: how fast a membrane makes it.
//!
//! # Equation
//! ```text
//! flow(t)/flow(25 °C) = exp(K (1/298 − 1/(273 + t))),  K = 3020 below 25 °C, 2640 from 25 °C on
//! flow ∝ (p − π), π the osmotic pressure of the feed
//! ```
//! # Valid range
//! 5 to 30 °C. The table is steeper than viscosity alone: 0.48 against 0.59 at 5 °C, so a plan in cold
//! water errs on the safe side.
//!
//! # Source
//! Trade data sheet for thin-film membranes, printed temperature factors (published.csv P-RO-01 to 09).

use crate::numerics::Elementary;
use crate::seawater::{RangeError, ValidRange};
use crate::units::{Duration, Pressure, Temperature, Volume, VolumeRate};

const CELSIUS: ValidRange = ValidRange {
    of: "feed temperature [°C]",
    low: 4.0,
    high: 35.0,
    property: "flow of a membrane",
    source: "trade data sheet for thin-film membranes",
};
/// Osmotic pressure of tap water of a few hundred mg/L \[bar\] (van 't Hoff, 350 mg/L as sodium chloride).
const TAP_OSMOTIC_BAR: f64 = 0.28;

/// Flow at a feed temperature, as a share of that at 25 °C.
pub fn flow_at_temperature(feed: Temperature) -> Result<f64, RangeError> {
    let t = CELSIUS.check(feed.celsius())?;
    let k = if t < 25.0 { 3020.0 } else { 2640.0 };
    Ok((k * (1.0 / 298.0 - 1.0 / (273.0 + t))).to_exp())
}

/// A purifier, rated at 25 °C and a pressure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Purifier {
    /// Rated flow.
    pub rated: VolumeRate,
    /// Pressure for which it is rated.
    pub rated_pressure: Pressure,
    /// Pressure at the tap.
    pub pressure: Pressure,
    /// Temperature of the feed.
    pub feed: Temperature,
    /// Litres of reject for one of product.
    pub reject: f64,
}

impl Purifier {
    /// What it really makes.
    pub fn flow(&self) -> Result<VolumeRate, RangeError> {
        let net = (self.pressure.bar() - TAP_OSMOTIC_BAR).max(0.0);
        let rated = (self.rated_pressure.bar() - TAP_OSMOTIC_BAR).max(1e-9);
        Ok(self.rated * (flow_at_temperature(self.feed)? * net / rated))
    }

    /// How long it takes to make a volume; infinite at no pressure.
    pub fn time_for(&self, volume: Volume) -> Result<Duration, RangeError> {
        Ok(volume / self.flow()?)
    }
}
