//! Water, salt and solutes as conserved amounts.

use std::ops::{Index, IndexMut};

use super::{Id, SoluteId};

/// Water \[kg\], salt \[kg\], then each solute \[mg or meq\]: what a tank holds, what a litre brings, what an event adds.
///
/// They lie in one row, because most of what is done to one component is done to all.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Amounts(Vec<f64>);

/// A component of a row of amounts, in the order of the row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Component {
    /// Water.
    Water,
    /// Salt.
    Salt,
    /// A solute.
    Solute(SoluteId),
}

/// Components before the first solute.
pub const BEFORE_SOLUTES: usize = 2;

impl Component {
    /// Its place in a row, which is also its column in a ledger.
    #[must_use]
    pub fn place(self) -> usize {
        match self {
            Self::Water => 0,
            Self::Salt => 1,
            Self::Solute(solute) => BEFORE_SOLUTES + solute.place(),
        }
    }
}

impl Amounts {
    /// Nothing of water, salt and so many solutes.
    #[must_use]
    pub fn none(solutes: usize) -> Self {
        Self(vec![0.0; BEFORE_SOLUTES + solutes])
    }

    /// These amounts.
    #[must_use]
    pub fn new(water_kg: f64, salt_kg: f64, solutes: impl IntoIterator<Item = f64>) -> Self {
        let mut row = vec![water_kg, salt_kg];
        row.extend(solutes);
        Self(row)
    }

    /// Water \[kg\].
    #[must_use]
    pub fn water_kg(&self) -> f64 {
        self[Component::Water]
    }

    /// Salt \[kg\].
    #[must_use]
    pub fn salt_kg(&self) -> f64 {
        self[Component::Salt]
    }

    /// Water and salt \[kg\].
    #[must_use]
    pub fn water_and_salt(&self) -> [f64; 2] {
        [self.water_kg(), self.salt_kg()]
    }

    /// Solutes \[mg or meq\].
    #[must_use]
    pub fn solutes(&self) -> &[f64] {
        &self.0[BEFORE_SOLUTES..]
    }

    /// The same, to be changed.
    pub fn solutes_mut(&mut self) -> &mut [f64] {
        &mut self.0[BEFORE_SOLUTES..]
    }

    /// All in one row: water, salt, solutes.
    #[must_use]
    pub fn row(&self) -> &[f64] {
        &self.0
    }

    /// The same, to be changed.
    pub fn row_mut(&mut self) -> &mut [f64] {
        &mut self.0
    }

    /// Becomes nothing of water, salt and so many solutes.
    pub fn clear(&mut self, solutes: usize) {
        self.0.clear();
        self.0.resize(BEFORE_SOLUTES + solutes, 0.0);
    }

    /// Takes over all of another row.
    pub fn copy_from(&mut self, other: &Self) {
        self.0.clone_from(&other.0);
    }

    /// How many solutes there are.
    #[must_use]
    pub fn count(&self) -> usize {
        self.solutes().len()
    }

    /// These amounts times a number.
    #[must_use]
    pub fn times(&self, factor: f64) -> Self {
        Self(self.0.iter().map(|amount| amount * factor).collect())
    }
}

impl From<Vec<f64>> for Amounts {
    /// Water, salt and solutes of a row.
    fn from(mut row: Vec<f64>) -> Self {
        row.resize(row.len().max(BEFORE_SOLUTES), 0.0);
        Self(row)
    }
}

impl Index<Component> for Amounts {
    type Output = f64;
    fn index(&self, component: Component) -> &f64 {
        &self.0[component.place()]
    }
}

impl IndexMut<Component> for Amounts {
    fn index_mut(&mut self, component: Component) -> &mut f64 {
        &mut self.0[component.place()]
    }
}

impl Index<SoluteId> for Amounts {
    type Output = f64;
    fn index(&self, solute: SoluteId) -> &f64 {
        &self[Component::Solute(solute)]
    }
}

impl IndexMut<SoluteId> for Amounts {
    fn index_mut(&mut self, solute: SoluteId) -> &mut f64 {
        &mut self[Component::Solute(solute)]
    }
}
