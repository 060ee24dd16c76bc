//! First-order removal, the reactions that turn one solute into another, and the alkalinity that goes with nitrogen.

use super::{Id, Species};
use crate::solutes::NITROGEN;

/// Alkalinity goes with nitrogen (Wolf-Gladrow et al. 2007, Mar. Chem. 106:287-300, explicit conservative expression):
/// `TA − [TNH3] + [NO2] + [NO3]` \[eq\] is moved by water, salts and calcification, and by nothing that life does to
/// nitrogen. So ammonia from food gives 1 eq/mol, its oxidation to nitrite takes 2, and nitrate that is taken up or
/// denitrified gives 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Coupling {
    /// The place of alkalinity.
    pub alkalinity: usize,
    /// Each nitrogen solute, and the milliequivalents that its amount stands for in the sum above.
    pub parts: Vec<(usize, f64)>,
}

impl Coupling {
    /// Equivalents in a mole of a nitrogen solute, as they stand in the sum that is conserved.
    const PER_MOLE: [(&'static str, f64); 3] = [("ammonia", -1.0), ("nitrite", 1.0), ("nitrate", 1.0)];

    /// That of a list of solutes; nothing where no nitrogen moves the alkalinity of it.
    #[must_use]
    pub fn of(species: &[Species]) -> Option<Self> {
        let alkalinity = species.iter().position(|s| s.solute.key == "alkalinity")?;
        let parts: Vec<(usize, f64)> = species
            .iter()
            .enumerate()
            .filter(|(_, s)| s.moves_alkalinity)
            .filter_map(|(i, s)| {
                let (_, per_mole) = Self::PER_MOLE.iter().find(|(key, _)| *key == s.solute.key)?;
                Some((i, per_mole * s.solute.nitrogen? / NITROGEN))
            })
            .collect();
        (!parts.is_empty()).then_some(Self { alkalinity, parts })
    }

    /// What the parts come to in a row of solutes \[meq\].
    #[must_use]
    pub fn parts_of(&self, solutes: &[f64]) -> f64 {
        self.parts.iter().map(|(i, per)| per * solutes[*i]).sum()
    }

    /// Milliequivalents that stand for an amount of a solute; none where it is no part.
    #[must_use]
    pub fn per(&self, solute: usize) -> f64 {
        self.parts.iter().find(|(i, _)| *i == solute).map_or(0.0, |(_, per)| *per)
    }
}

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
    /// Of the uptake, the share that calcification lays down.
    pub calcified: Vec<f64>,
    /// Solutes with any reaction, makers before what they make.
    pub order: Vec<usize>,
    /// Solutes with an uptake that stops at zero.
    pub taking: Vec<usize>,
    /// Whether a solute takes part in a reaction chain, as maker or as product.
    pub chained: Vec<bool>,
    /// Alkalinity that goes with nitrogen.
    pub coupling: Option<Coupling>,
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
        let coupling = Coupling::of(species);
        // Alkalinity that nitrogen moves may fall below zero: its uptake is a demand, met or not.
        let stops =
            |i: &usize| species[*i].uptake_per_day > 0.0 && coupling.as_ref().is_none_or(|c| c.alkalinity != *i);
        let taking = (0..n).filter(stops).collect();
        order.retain(|i| loss[*i] != 0.0 || !made_from[*i].is_empty());
        Ok(Self {
            loss,
            removal: species.iter().map(|s| s.removal.per_day()).collect(),
            made_from,
            uptake: species.iter().map(|s| s.uptake_per_day).collect(),
            calcified: species
                .iter()
                .map(|s| if s.uptake_per_day > 0.0 { s.calcified_per_day / s.uptake_per_day } else { 0.0 })
                .collect(),
            order,
            chained,
            taking,
            coupling,
        })
    }

    /// Whether a concentration only rises or only falls under constant flows: nothing is made of it from others, and either the
    /// volume or the amount without dilution stays.
    #[must_use]
    pub fn goes_one_way(&self, solute: usize, volume_stays: bool) -> bool {
        let coupled = self.coupling.as_ref().is_some_and(|c| c.alkalinity == solute);
        !coupled && self.made_from[solute].is_empty() && (volume_stays || self.loss[solute] == 0.0)
    }

    /// Whether what happens to a solute hangs on others.
    #[must_use]
    pub fn hangs_on_others(&self, solute: usize) -> bool {
        self.chained[solute] || self.coupling.as_ref().is_some_and(|c| c.alkalinity == solute)
    }

    /// The most that reactions can make of a solute in a day within so many days \[amount/d\], from amounts and what flows in:
    /// nothing is lost on the way.
    #[must_use]
    pub fn most_made(&self, solute: usize, held: &[f64], supply: &[f64], days: f64) -> f64 {
        let most = |from: usize| {
            held[from].max(0.0) + days * (supply[from].max(0.0) + self.most_made(from, held, supply, days))
        };
        self.made_from[solute].iter().map(|(from, rate)| rate * most(*from)).sum()
    }

    /// What reactions make of a solute over some days \[amount\], from what each solute comes to over them (its integral,
    /// or its amount for the rate), what flows in of each a day, and which are held at zero.
    #[must_use]
    pub fn made(&self, solute: usize, held: &[f64], supply: &[f64], at_zero: &[bool], days: f64) -> f64 {
        let from_others = |i: usize| self.made_from[i].iter().map(|(from, rate)| rate * held[*from]).sum::<f64>();
        let coupled = self.coupling.as_ref().filter(|c| c.alkalinity == solute);
        let by_nitrogen = coupled.map_or(0.0, |c| {
            let gone = |i: usize| {
                // At zero all is taken that comes.
                if at_zero[i] {
                    supply[i] * days
                } else {
                    self.loss[i] * held[i] + self.uptake[i] * days - from_others(i)
                }
            };
            c.parts.iter().map(|(i, per)| per * gone(*i)).sum()
        });
        from_others(solute) + by_nitrogen
    }
}
