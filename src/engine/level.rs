//! What the level and the reservoir have come to.

use super::flows::{DRY_L, EMPTY_SHARE, LEVEL_TOLERANCE, Outdated};
use super::{Observer, Simulation};

impl Simulation<'_> {
    /// Reports what the level or the reservoir has come to, whether or not something else is due now.
    pub(super) fn edge(&mut self, observer: &mut dyn Observer) {
        if self.active_flows.top_off > 0.0 && self.stock() <= DRY_L {
            self.reservoir_l = 0.0;
            self.flows_outdated = Outdated::All;
            self.tally.reservoir_dry_d.get_or_insert(self.time);
            self.show("reservoir-dry", observer);
        }
        self.look_at_level(observer);
    }

    /// Reports a starved return pump and an empty tank.
    pub(super) fn look_at_level(&mut self, observer: &mut dyn Observer) {
        let tank = &self.plan.tank;
        let tolerance = 2.0 * LEVEL_TOLERANCE * tank.operating.litres();
        if let Some(starve) = tank.starve {
            let low = self.volume <= starve.litres() + tolerance;
            if low && !self.starved {
                self.tally.starved_d.get_or_insert(self.time);
                self.show("return-pump-starved", observer);
            }
            self.starved = low;
        }
        if self.volume <= EMPTY_SHARE * tank.operating.litres() + tolerance {
            self.tally.empty_d = Some(self.time);
            self.show("tank-empty", observer);
        }
    }
}
