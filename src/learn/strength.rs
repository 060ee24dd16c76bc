//! The strength of a salt mix from the keeper's own batches.
//!
//! # Equation
//! Each batch of known fresh water, mix and salinity gives the mix's share of sea salt
//! ```text
//! 1 − h = S_A (1 + ρw V/m)/1000
//! ```
//! (the dose of REFERENCE section 2.8, solved for `h`). The share is their mean, drawn towards the label
//! or the typical mix by the weight of one batch of typical spread; the spread is that of the batches,
//! never less than the reading's part in it.

use crate::seawater::{RangeError, absolute_from_practical, fresh_water_density};
use crate::sizing::SaltMix;
use crate::units::{Mass, PracticalSalinity, Temperature, Volume};

/// One batch of the log.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BatchRow {
    /// Fresh water drawn.
    pub fresh: Volume,
    /// Salt mix weighed in.
    pub salt_mix: Mass,
    /// Salinity when dissolved.
    pub salinity: PracticalSalinity,
    /// Temperature of the water.
    pub temperature: Temperature,
}

/// What the log teaches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Learned {
    /// The mix.
    pub mix: SaltMix,
    /// Batches used.
    pub batches: usize,
    /// One standard error of its strength, relative.
    pub error: f64,
}

/// A log that teaches nothing.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum StrengthError {
    /// No rows.
    #[error("the batch log has no batch in it")]
    Empty,
    /// A batch that no mix can make.
    #[error(
        "batch {row} of the log gives a mix with {percent:.0} % of water, which cannot be: check its litres, grams and salinity"
    )]
    Impossible {
        /// Which, from 1.
        row: usize,
        /// Water in percent.
        percent: f64,
    },
    /// Outside the equation of state.
    #[error(transparent)]
    Range(#[from] RangeError),
}

/// Lowest spread that a log may claim: readings alone are no better.
const LEAST_SPREAD: f64 = 0.01;

/// The share of sea salt in a mix, as each batch alone would have it.
pub(super) fn own_shares(rows: &[BatchRow]) -> Result<Vec<f64>, StrengthError> {
    let mut shares = Vec::with_capacity(rows.len());
    for (i, row) in rows.iter().enumerate() {
        let water = (fresh_water_density(row.temperature)? * row.fresh).kg();
        let salt = absolute_from_practical(row.salinity).g_per_kg() * 1e-3;
        let share = salt * (1.0 + water / row.salt_mix.kg());
        if !(0.4..=1.15).contains(&share) {
            return Err(StrengthError::Impossible { row: i + 1, percent: 100.0 * (1.0 - share) });
        }
        shares.push(share);
    }
    Ok(shares)
}

/// Learns the strength of a mix, starting from `prior`.
pub fn learn_strength(rows: &[BatchRow], prior: SaltMix) -> Result<Learned, StrengthError> {
    if rows.is_empty() {
        return Err(StrengthError::Empty);
    }
    let shares = own_shares(rows)?;
    let n = shares.len() as f64;
    let mean = (prior.salt() + shares.iter().sum::<f64>()) / (n + 1.0);
    let squares: f64 = shares.iter().map(|s| (s / mean - 1.0).powi(2)).sum();
    let spread = ((squares + prior.spread.powi(2)) / (n + 1.0)).sqrt().max(LEAST_SPREAD);
    Ok(Learned {
        mix: SaltMix { water_share: 1.0 - mean, spread },
        batches: shares.len(),
        error: spread / (n + 1.0).sqrt(),
    })
}

#[cfg(test)]
mod tests {
    use super::{BatchRow, StrengthError, learn_strength};
    use crate::sizing::{SaltMix, batch_of_fresh};
    use crate::units::{Mass, PracticalSalinity, Temperature, Volume};

    #[test]
    fn the_log_of_a_known_mix_teaches_its_strength() {
        let truth = SaltMix { water_share: 0.14, spread: 0.0 };
        let (s, t) = (PracticalSalinity::from_psu(34.2), Temperature::from_celsius(24.0));
        let fresh = Volume::from_litres(60.0);
        let salt_mix = batch_of_fresh(fresh, s, t, &truth, None).unwrap().salt_mix;
        let row = BatchRow { fresh, salt_mix, salinity: s, temperature: t };
        let learned = learn_strength(&[row; 40], SaltMix::default()).unwrap();
        assert!((learned.mix.water_share - 0.14).abs() < 0.0015, "{learned:?}");
        assert!(learned.error < 0.01);
        assert_eq!(learn_strength(&[], truth), Err(StrengthError::Empty));
        let wrong = BatchRow { salt_mix: Mass::from_kg(0.1), ..row };
        assert!(matches!(learn_strength(&[wrong], truth), Err(StrengthError::Impossible { row: 1, .. })));
    }
}
