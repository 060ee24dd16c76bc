//! Booking an interval of constant flows into the ledger.
//!
//! Over the interval every inflow, load and reaction is known; what is left of the balance went out
//! with the tank water, and is shared among the outflows by their rates.

use super::flows::ActiveFlows;
use crate::model::{Amounts, BEFORE_SOLUTES, Component, Kinetics, Listed, Regime, WaterId};
use crate::results::{Cause, Ledger};

/// What happened since the ledger were last written.
#[derive(Clone, Debug)]
pub(super) struct LedgerInterval {
    /// Amounts at its start.
    pub(super) start: Amounts,
    /// Its length \[d\].
    pub(super) days: f64,
    /// `∫x dt` of each solute that reacts.
    pub(super) integral: Vec<f64>,
    /// Days for which each solute was not held at zero.
    pub(super) taking: Vec<f64>,
    /// Uptake while held at zero: all that came in \[amount\].
    pub(super) taken_at_zero: Vec<f64>,
    come: Amounts,
}

impl LedgerInterval {
    pub(super) fn new(amounts: &Amounts) -> Self {
        let n = amounts.count();
        Self {
            start: amounts.clone(),
            days: 0.0,
            integral: vec![0.0; n],
            taking: vec![0.0; n],
            taken_at_zero: vec![0.0; n],
            come: Amounts::none(n),
        }
    }

    /// Starts anew from `amounts`.
    pub(super) fn restart(&mut self, amounts: &Amounts) {
        self.start.copy_from(amounts);
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
        contents: &Listed<WaterId, Amounts>,
        regime: &Regime,
        kinetics: &Kinetics,
        end: &Amounts,
    ) {
        let days = self.days;
        if days == 0.0 {
            return;
        }
        ledger.book(Cause::Evaporation, 0, -flows.evaporation_kg * days);
        let come = self.come.row_mut();
        come.fill(0.0);
        come[0] = -flows.evaporation_kg * days;
        for (j, amount) in flows.direct.row().iter().enumerate() {
            if *amount == 0.0 && flows.laid_down_kg == 0.0 {
                continue;
            }
            come[j] += amount * days;
            let laid_down = if j == Component::Salt.place() { flows.laid_down_kg } else { 0.0 };
            ledger.book(Cause::Dose, j, (amount + laid_down) * days);
            ledger.book(Cause::Calcification, j, -laid_down * days);
        }
        for (cause, rate, water) in &flows.inflows {
            for (j, content) in contents[*water].row().iter().enumerate() {
                if *content != 0.0 {
                    let amount = rate * days * content;
                    come[j] += amount;
                    ledger.book(*cause, j, amount);
                }
            }
        }
        self.book_life(ledger, regime, kinetics);
        let come = self.come.row_mut();
        let out: f64 = flows.outflows.iter().map(|(_, rate)| rate).sum();
        if out > 0.0 {
            for (j, come) in come.iter().enumerate() {
                let gone = self.start.row()[j] + come - end.row()[j];
                for (cause, rate) in &flows.outflows {
                    ledger.book(*cause, j, -gone * rate / out);
                }
            }
        }
    }

    /// Loads, food, reactions and uptake, and the alkalinity that goes with them.
    fn book_life(&mut self, ledger: &mut Ledger, regime: &Regime, kinetics: &Kinetics) {
        let days = self.days;
        let (loads, feed): (&[f64], &[f64]) = (&regime.loads, &regime.feed);
        let come = self.come.row_mut();
        let mut book = |cause: Cause, j: usize, amount: f64| {
            if amount != 0.0 {
                come[j] += amount;
                ledger.book(cause, j, amount);
            }
        };
        for i in 0..self.integral.len() {
            let j = BEFORE_SOLUTES + i;
            let made: f64 = kinetics.made_from[i].iter().map(|(from, rate)| rate * self.integral[*from]).sum();
            let removed = kinetics.removal[i] * self.integral[i];
            let converted = (kinetics.loss[i] - kinetics.removal[i]) * self.integral[i];
            let taking = if kinetics.taking.contains(&i) { self.taking[i] } else { days };
            let taken = kinetics.uptake[i] * taking + self.taken_at_zero[i];
            let laid_down = kinetics.calcified[i] * taken;
            book(Cause::Load, j, loads[i] * days);
            book(Cause::Feed, j, feed[i] * days);
            book(Cause::Removal, j, -removed);
            book(Cause::ReactionIn, j, made);
            book(Cause::ReactionOut, j, -converted);
            book(Cause::Uptake, j, laid_down - taken);
            book(Cause::Calcification, j, -laid_down);
            if let Some(coupling) = &kinetics.coupling {
                let (per, j) = (coupling.per(i), BEFORE_SOLUTES + coupling.alkalinity);
                book(Cause::NitrogenReleased, j, -per * (loads[i] + feed[i]) * days);
                book(Cause::Nitrification, j, per * (converted - made));
                book(Cause::NitrogenTaken, j, per * (removed + taken));
            }
        }
    }
}
