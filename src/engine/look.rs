//! What can be read of a simulation.

use super::flows::LEAST_SALT_PSU;
use super::{Simulation, Tally};
use crate::model::{Amounts, Id};
use crate::units::{Duration, PracticalSalinity};

impl Simulation<'_> {
    /// Days from the start.
    #[must_use]
    pub fn time(&self) -> Duration {
        Duration::from_days(self.time)
    }

    /// Water kg, salt kg, then the solutes.
    #[must_use]
    pub const fn amounts(&self) -> &Amounts {
        &self.amounts
    }

    /// System volume \[L\].
    #[must_use]
    pub const fn volume_l(&self) -> f64 {
        self.volume
    }

    /// What is left in the top-off reservoir \[L\]; infinity where there is none.
    #[must_use]
    pub const fn reservoir_l(&self) -> f64 {
        self.reservoir_l
    }

    /// What the top-off can draw on in the present regime \[L\]: a line may take the reservoir's place.
    pub(super) fn stock(&self) -> f64 {
        if self.regime.top_off.reservoir.is_some() { self.reservoir_l } else { f64::INFINITY }
    }

    /// What the top-off reservoir holds when full \[L\]; infinity where there is none.
    #[must_use]
    pub fn reservoir_capacity_l(&self) -> f64 {
        self.regime.top_off.capacity_l()
    }

    /// The salinity \[psu\] that the keeper takes from the meter in use, without noise; nothing where it is off
    /// the meter's scale.
    #[must_use]
    pub fn shown_psu(&self) -> Option<f64> {
        self.regime.meter.shows(self.salinity(), self.plan.tank.temperature).ok().map(PracticalSalinity::psu)
    }

    /// Counts so far.
    #[must_use]
    pub const fn tally(&self) -> &Tally {
        &self.tally
    }

    /// Exact steps taken.
    #[must_use]
    pub const fn steps(&self) -> u64 {
        self.steps
    }

    /// Whether there is anything to lay down: alkalinity, and salt that holds calcium. The law is renewed at that
    /// salinity, and the flows with it.
    pub(super) fn lays_down(&self) -> bool {
        let gone = self.plan.solute("alkalinity").is_some_and(|i| self.at_zero[i.place()]);
        !gone && self.psu > LEAST_SALT_PSU
    }
}
