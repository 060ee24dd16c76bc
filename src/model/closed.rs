//! Closed forms that the simulation must meet, and that some answers need alone.
//!
//! All are elementary algebra on the ideal basis: volume constant, volumes add.

use crate::numerics::Elementary;

/// Share of the old water left after `n` changes of a share `f` each: `(1 − f)^n`.
#[must_use]
pub fn left_after_changes(f: f64, n: i32) -> f64 {
    (1.0 - f).powi(n)
}

/// Share of the old water left after a continuous exchange of `exchanged` volumes of the tank: `e^{−x}`.
#[must_use]
pub fn left_after_exchange(exchanged: f64) -> f64 {
    (-exchanged).to_exp()
}

/// Settled peak of a pollutant: just before a change of a share `f` every `every` days.
///
/// `load` in mg/(L d), first-order `removal` in 1/d, `new_water` in mg/L. With `e = e^{−kT}` and
/// `g = load·(1 − e)/k`: `peak = (g + e f c)/(1 − e(1 − f))`; without removal `c + pT/f`.
#[must_use]
pub fn settled_peak(load: f64, removal: f64, every: f64, f: f64, new_water: f64) -> f64 {
    let kept = (-removal * every).to_exp();
    let gained = load * every * crate::numerics::exprel(-removal * every);
    (gained + kept * f * new_water) / (1.0 - kept * (1.0 - f))
}

/// Settled trough: just after the change, `(1 − f)·peak + f·c`.
#[must_use]
pub fn settled_trough(load: f64, removal: f64, every: f64, f: f64, new_water: f64) -> f64 {
    (1.0 - f) * settled_peak(load, removal, every, f, new_water) + f * new_water
}

/// Salinity after `days` of a top-off of salinity `top_off_psu` at `litres_per_day` into a constant volume.
#[must_use]
pub fn salty_top_off(start_psu: f64, top_off_psu: f64, litres_per_day: f64, volume_l: f64, days: f64) -> f64 {
    start_psu + top_off_psu * litres_per_day / volume_l * days
}

/// Salinity after `days` in which `litres_per_day` of tank water were replaced by fresh water.
#[must_use]
pub fn fresh_replacement(start_psu: f64, litres_per_day: f64, volume_l: f64, days: f64) -> f64 {
    start_psu * (-litres_per_day * days / volume_l).to_exp()
}

/// Salinity after `days` of an exchange with unequal pumps at a held level: inflow of `new_psu` at
/// `inflow`, outflow at `outflow` \[L/d\], the float making up or withholding fresh water.
#[must_use]
pub fn unequal_exchange(start_psu: f64, new_psu: f64, inflow: f64, outflow: f64, volume_l: f64, days: f64) -> f64 {
    let settled = new_psu * inflow / outflow;
    settled + (start_psu - settled) * (-outflow * days / volume_l).to_exp()
}

/// Largest top-off reservoir \[same unit as `volume`\] that lowers the salinity by at most `fall`
/// when all of it runs in at once: `R ≤ V·d/(S − d)`.
#[must_use]
pub fn largest_safe_reservoir(volume: f64, salinity_psu: f64, fall_psu: f64) -> f64 {
    volume * fall_psu / (salinity_psu - fall_psu)
}

/// Volume to exchange, as a share of the tank's, so that a share `left` of a dissolved thing stays:
/// one change, `n` equal changes, or a continuous exchange.
#[must_use]
pub fn volume_for_dilution(left: f64, changes: Option<i32>) -> f64 {
    match changes {
        Some(n) => f64::from(n) * (1.0 - left.to_power(1.0 / f64::from(n))),
        None => -left.to_ln(),
    }
}
