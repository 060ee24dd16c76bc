//! Every gram and litre in and out, by cause.

use super::Cause;
use crate::numerics::Sum;

/// The books of one run: a row a cause, a column a component (water kg, salt kg, then the solutes).
///
/// Inflow is positive. The start is booked in and the end booked out, so each column adds up to
/// its residual, which is zero but for rounding.
#[derive(Clone, Debug)]
pub struct Ledger {
    components: usize,
    cells: Vec<Sum>,
}

impl Ledger {
    /// Empty books for water, salt and `solutes` solutes.
    #[must_use]
    pub fn new(solutes: usize) -> Self {
        let components = solutes + 2;
        Self { components, cells: vec![Sum::default(); components * Cause::ALL.len()] }
    }

    /// Books `amount` of a component (0 water, 1 salt, then the solutes) under a cause.
    pub fn book(&mut self, cause: Cause, component: usize, amount: f64) {
        self.cells[cause as usize * self.components + component].add(amount);
    }

    /// What is booked under a cause for a component.
    #[must_use]
    pub fn amount(&self, cause: Cause, component: usize) -> f64 {
        self.cells[cause as usize * self.components + component].value()
    }

    /// Number of columns: water, salt and each solute.
    #[must_use]
    pub const fn components(&self) -> usize {
        self.components
    }

    /// The causes under which anything is booked, in order; start and end are always among them.
    #[must_use]
    pub fn causes(&self) -> Vec<Cause> {
        let used = |c: &Cause| (0..self.components).any(|j| self.amount(*c, j) != 0.0);
        Cause::ALL.iter().copied().filter(|c| matches!(c, Cause::Start | Cause::End) || used(c)).collect()
    }

    /// What a component's column adds up to: zero but for rounding.
    #[must_use]
    pub fn residual(&self, component: usize) -> f64 {
        let mut sum = Sum::default();
        for cause in Cause::ALL {
            sum.add(self.amount(*cause, component));
        }
        sum.value()
    }

    /// The largest residual as a share of the largest amount in its column.
    #[must_use]
    pub fn relative_residual(&self) -> f64 {
        let largest = |j| Cause::ALL.iter().map(|c| self.amount(*c, j).abs()).fold(0.0, f64::max);
        (0..self.components)
            .map(|j| match largest(j) {
                0.0 => 0.0,
                amount => self.residual(j).abs() / amount,
            })
            .fold(0.0, f64::max)
    }
}
