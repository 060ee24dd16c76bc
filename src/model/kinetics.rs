//! First-order removal and the reactions that turn one solute into another.

use super::{Id, Species};

/// The reaction network of a plan, ordered so that every solute comes after those it is made from.
#[derive(Clone, Debug, PartialEq)]
pub struct Kinetics {
    /// First-order loss of each solute, removal and conversion together \[1/d\].
    pub loss: Vec<f64>,
    /// Removal alone \[1/d\].
    pub removal: Vec<f64>,
    /// For each solute, those it is made from: (which, amount made per amount held and day).
    pub made_from: Vec<Vec<(usize, f64)>>,
    /// Zero-order uptake \[amount/d\].
    pub uptake: Vec<f64>,
    /// Solutes with any reaction, makers before what they make.
    pub order: Vec<usize>,
    /// Solutes with an uptake.
    pub taking: Vec<usize>,
    /// Whether a solute takes part in a reaction chain, as maker or as product.
    pub chained: Vec<bool>,
}

/// A reaction network that the exact step cannot order.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum KineticsError {
    /// A solute turns into itself, directly or around a ring.
    #[error("the solutes {0} turn into each other in a ring; a chain must have an end")]
    Ring(String),
}

impl Kinetics {
    /// The network of a list of solutes.
    pub fn new(species: &[Species]) -> Result<Self, KineticsError> {
        let n = species.len();
        let mut made_from = vec![Vec::new(); n];
        let mut loss: Vec<f64> = species.iter().map(|s| s.removal.per_day()).collect();
        let mut chained = vec![false; n];
        for (i, s) in species.iter().enumerate() {
            if let Some(c) = &s.conversion {
                loss[i] += c.rate.per_day();
                made_from[c.into.place()].push((i, c.rate.per_day() * c.yield_by_amount));
                (chained[i], chained[c.into.place()]) = (true, true);
            }
        }
        let mut order = Vec::with_capacity(n);
        let mut placed = vec![false; n];
        while order.len() < n {
            let ready: Vec<usize> =
                (0..n).filter(|i| !placed[*i] && made_from[*i].iter().all(|(from, _)| placed[*from])).collect();
            if ready.is_empty() {
                let ring: Vec<&str> = (0..n).filter(|i| !placed[*i]).map(|i| &*species[i].solute.key).collect();
                return Err(KineticsError::Ring(ring.join(", ")));
            }
            for i in ready {
                placed[i] = true;
                order.push(i);
            }
        }
        order.retain(|i| loss[*i] != 0.0 || !made_from[*i].is_empty());
        Ok(Self {
            loss,
            removal: species.iter().map(|s| s.removal.per_day()).collect(),
            made_from,
            taking: (0..n).filter(|i| species[*i].uptake_per_day > 0.0).collect(),
            uptake: species.iter().map(|s| s.uptake_per_day).collect(),
            order,
            chained,
        })
    }
}
