//! Acclimation by drip: tank water drips into the vessel with the animals until its salinity is the tank's.
//!
//! Volumes add, to a per cent or so. In a vessel of `V0` at `s0` into which tank water of `s1` drips at `q`, the salinity is
//! `s1 + (s0 − s1)·V0/(V0 + q t)`, fastest at the start: `q (s1 − s0)/V0`. Whenever the water has doubled, half is poured off.

use crate::numerics::Elementary;

/// Drops in a millilitre of a drip set (common practice, no source).
const DROPS_PER_ML: f64 = 20.0;

/// A drip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drip {
    /// Flow \[L/h\].
    pub litres_per_h: f64,
    /// Drops a second.
    pub drops_per_s: f64,
    /// How often half is poured off.
    pub rounds: u32,
    /// Hours until the salinity is within `close`.
    pub hours: f64,
    /// Tank water used \[L\].
    pub litres: f64,
}

/// The drip from one salinity to another \[psu\] in a vessel \[L\], no faster than `psu_per_h`, until it is within `close`
/// \[psu\]; nothing where it is that close already.
///
/// ```
/// use brinecast::sizing::drip;
/// // 2 L at 31 into 35: at 1 psu/h half a litre an hour; 4 psu become 0.5 in three doublings of 4 h each.
/// let drip = drip(2.0, 31.0, 35.0, 1.0, 0.5).expect("it is not there yet");
/// assert!((drip.litres_per_h - 0.5).abs() < 1e-12 && (drip.hours - 12.0).abs() < 1e-9 && drip.rounds == 2);
/// ```
#[must_use]
pub fn drip(vessel_l: f64, from: f64, to: f64, psu_per_h: f64, close: f64) -> Option<Drip> {
    let apart = (to - from).abs();
    if apart <= close {
        return None;
    }
    let litres_per_h = psu_per_h * vessel_l / apart;
    // Each doubling halves the distance; the last one is as long as it takes.
    let doublings = (apart / close).to_log2();
    let rounds = (doublings - 1e-9).floor();
    let last = 2f64.to_power(doublings - rounds) - 1.0;
    let litres = vessel_l * (rounds + last);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a handful of rounds")]
    let rounds = rounds as u32;
    Some(Drip {
        litres_per_h,
        drops_per_s: litres_per_h * 1e3 * DROPS_PER_ML / 3600.0,
        rounds,
        hours: litres / litres_per_h,
        litres,
    })
}
