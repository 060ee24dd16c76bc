//! Booking an interval of constant flows into the ledger.
//!
//! Over the interval every inflow, load and reaction is known; what is left of the balance went out
//! with the tank water, and is shared among the outflows by their rates.

use super::flows::ActiveFlows;
use crate::model::{Content, Kinetics, Regime};
use crate::results::{Cause, Ledger};

/// What happened since the ledger were last written.
#[derive(Clone, Debug)]
pub(super) struct LedgerInterval {
    /// Amounts at its start.
    pub(super) start: Vec<f64>,
    /// Its length \[d\].
    pub(super) days: f64,
    /// `∫x dt` of each solute that reacts.
    pub(super) integral: Vec<f64>,
    /// Days for which each solute was not held at zero.
    pub(super) taking: Vec<f64>,
    /// Uptake while held at zero: all that came in \[amount\].
    pub(super) taken_at_zero: Vec<f64>,
    come: Vec<f64>,
}

impl LedgerInterval {
    pub(super) fn new(amounts: &[f64]) -> Self {
        let n = amounts.len() - 2;
        Self {
            start: amounts.to_vec(),
            days: 0.0,
            integral: vec![0.0; n],
            taking: vec![0.0; n],
            taken_at_zero: vec![0.0; n],
            come: vec![0.0; n + 2],
        }
    }

    /// Starts anew from `amounts`.
    pub(super) fn restart(&mut self, amounts: &[f64]) {
        self.start.copy_from_slice(amounts);
        self.days = 0.0;
        for row in [&mut self.integral, &mut self.taking, &mut self.taken_at_zero] {
            row.fill(0.0);
        }
    }

    /// Writes the interval that ends with `end` into the ledger.
    pub(super) fn book(
        &mut self,
        ledger: &mut Ledger,
        flows: &ActiveFlows,
        contents: &[Content],
        regime: &Regime,
        kinetics: &Kinetics,
        end: &[f64],
    ) {
        let days = self.days;
        if days == 0.0 {
            return;
        }
        ledger.book(Cause::Evaporation, 0, -flows.evaporation_kg * days);
        let come = &mut self.come;
        come.fill(0.0);
        come[0] = -flows.evaporation_kg * days;
        for (cause, rate, water) in &flows.inflows {
            for (j, content) in contents[*water].0.iter().enumerate() {
                let amount = rate * days * content;
                come[j] += amount;
                ledger.book(*cause, j, amount);
            }
        }
        for i in 0..self.integral.len() {
            let j = i + 2;
            let made: f64 = kinetics.made_from[i].iter().map(|(from, rate)| rate * self.integral[*from]).sum();
            let removed = kinetics.removal[i] * self.integral[i];
            let converted = (kinetics.loss[i] - kinetics.removal[i]) * self.integral[i];
            let taken = kinetics.uptake[i] * self.taking[i] + self.taken_at_zero[i];
            let entries = [
                (Cause::Load, regime.loads[i] * days),
                (Cause::Feed, regime.feed[i] * days),
                (Cause::Removal, -removed),
                (Cause::ReactionIn, made),
                (Cause::ReactionOut, -converted),
                (Cause::Uptake, -taken),
            ];
            for (cause, amount) in entries {
                if amount != 0.0 {
                    come[j] += amount;
                    ledger.book(cause, j, amount);
                }
            }
        }
        let out: f64 = flows.outflows.iter().map(|(_, rate)| rate).sum();
        if out > 0.0 {
            for j in 0..end.len() {
                let gone = self.start[j] + come[j] - end[j];
                for (cause, rate) in &flows.outflows {
                    ledger.book(*cause, j, -gone * rate / out);
                }
            }
        }
    }
}
