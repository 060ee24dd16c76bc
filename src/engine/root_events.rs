//! Instants inside a step at which the equations change: the volume law, an uptake at zero.

use super::flows::Outdated;
use super::simulation::BALANCED;
use super::{Observer, Simulation};
use crate::model::{BEFORE_SOLUTES, Flow, VolumeLaw};
use crate::numerics::find_root;
use crate::results::Cause;

/// When, in a step of `days` from water and salt `now`, between whose salinities \[psu\] it leads, the volume law must be looked at
/// again.
pub(super) fn law_ends(law: &VolumeLaw, flow: &Flow, now: [f64; 2], psu: [f64; 2], days: f64) -> Option<f64> {
    let point = law.next_point(psu[0], psu[1])?;
    // At the point `factor·S = point·(W + share·S)`: what the one has over the other is diluted as they are.
    let [factor, share] = law.salinity_weights();
    let over = |[water, salt]: [f64; 2]| (factor - point * share) * salt - point * water;
    let at = flow.time_at_nothing(over(now), over(flow.supply.water_and_salt()));
    (!at.is_nan()).then(|| at.clamp(0.0, days))
}

impl Simulation<'_> {
    /// When, in the step just worked out, the salinity has moved so far that the volume law must be
    /// renewed: the law then changes at an instant that does not depend on the steps.
    pub(super) fn law_ends(&self, days: f64) -> Option<f64> {
        law_ends(&self.law, &self.active_flows.flow, self.amounts.water_and_salt(), [self.psu, self.then[1]], days)
    }

    /// The first solute in the step whose uptake runs it empty, or that is made faster than taken
    /// again, and when.
    pub(super) fn root_event(&mut self, days: f64) -> Option<(usize, f64)> {
        let mut first: Option<(usize, f64)> = None;
        for k in 0..self.stepper.kinetics().taking.len() {
            let i = self.stepper.kinetics().taking[k];
            let uptake = self.stepper.kinetics().uptake[i];
            let held = self.at_zero[i];
            let supply = self.active_flows.flow.supply.solutes()[i];
            let (now, then) = (self.made(i, &self.amounts), self.made(i, &self.after));
            let (now, then) = (supply + now - uptake, supply + then - uptake);
            let rounding = BALANCED * uptake;
            let empty = self.amounts.solutes()[i] <= 0.0;
            let turns = if held {
                then > 0.0
            } else if empty {
                now < -rounding || self.after.solutes()[i] < 0.0 && then <= 0.0
            } else {
                self.after.solutes()[i] < 0.0
            };
            if !turns {
                continue;
            }
            let at = if !held && empty && now <= rounding {
                0.0
            } else if !self.stepper.kinetics().hangs_on_others(i) {
                self.stepper.time_at_zero(&self.active_flows.flow, i, self.amounts.solutes()[i], days)
            } else {
                let cell = std::cell::RefCell::new((&mut self.stepper, &mut self.scratch, &mut self.scratch_integral));
                let value = |t: f64| {
                    let (stepper, scratch, integral) = &mut *cell.borrow_mut();
                    stepper.step(&self.active_flows.flow, &self.at_zero, &self.amounts, t, scratch, integral);
                    if held {
                        let come = self.active_flows.flow.supply.solutes();
                        supply + stepper.kinetics().made(i, scratch.solutes(), come, &self.at_zero, 1.0) - uptake
                    } else {
                        scratch.solutes()[i]
                    }
                };
                // What is empty and made faster than taken rises first: the fall to zero lies past that.
                let rise = || (1..60).map(|k| days * 0.5f64.powi(k)).find(|t| value(*t) > 0.0);
                let low = if !held && empty { rise().unwrap_or(0.0) } else { 0.0 };
                find_root(value, low, days, 0.0).unwrap_or(days)
            };
            if first.is_none_or(|(_, t)| at < t) {
                first = Some((i, at));
            }
        }
        first
    }

    /// A solute reaches zero, or leaves it; `fell` where it was above zero before.
    pub(super) fn turn(&mut self, i: usize, fell: bool, observer: &mut dyn Observer) {
        self.close_interval();
        self.at_zero[i] = !self.at_zero[i];
        if self.at_zero[i] {
            let was = self.amounts.solutes()[i];
            self.amounts.solutes_mut()[i] = 0.0;
            self.book(Cause::Uptake, BEFORE_SOLUTES + i, -was);
            self.interval.restart(&self.amounts);
            if fell {
                self.show("uptake-at-zero", observer);
            }
        }
        self.flows_outdated = Outdated::All;
    }
}
