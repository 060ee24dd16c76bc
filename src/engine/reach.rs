//! Between which values a solute stays within a segment: bounds that hold for certain, found without looking inside.
//!
//! An amount obeys `x' = s − (k + q/V)x`, where the supply `s` holds what is made of others and lies between two bounds.
//! It can leave the span of its beginning only towards `s/(k + q/V)`, and no faster than `s` and `(k + q/V)x` carry it. A
//! concentration obeys `V c' = s − (kV + a + q)c`, and goes only towards `s/(kV + a + q)`.

use crate::model::{Amounts, Flow, Kinetics};

/// A span of values, low and high.
type Span = [f64; 2];

/// A segment, as its bounds see it.
pub(super) struct Reach<'a> {
    pub(super) kinetics: &'a Kinetics,
    pub(super) flow: &'a Flow,
    pub(super) at_zero: &'a [bool],
    /// Amounts at its beginning and at its end.
    pub(super) amounts: [&'a Amounts; 2],
    /// Volume at its beginning and at its end \[L\].
    pub(super) volume: Span,
    /// Its length \[d\].
    pub(super) days: f64,
}

impl Reach<'_> {
    /// Between what a concentration stays.
    pub(super) fn of(&self, solute: usize) -> Span {
        let coupled = self.kinetics.coupling.as_ref().filter(|c| c.alkalinity == solute);
        let Some(coupling) = coupled else { return self.concentration(solute) };
        // Its sum with nitrogen does not react: as a concentration, it goes one way.
        let sum = |k: usize| {
            let solutes = self.amounts[k].solutes();
            (solutes[solute] + coupling.parts_of(solutes)) / self.volume[k]
        };
        coupling.parts.iter().fold(span(sum(0), sum(1)), |[low, high], (i, per)| {
            let [least, most] = self.concentration(*i).map(|c| per * c);
            [low - least.max(most), high - least.min(most)]
        })
    }

    /// What comes of a solute in a day, from where and from what it is made.
    fn supply(&self, i: usize) -> Span {
        let own = self.flow.supply.solutes()[i] - self.kinetics.uptake[i];
        self.kinetics.made_from[i].iter().fold([own, own], |[low, high], (from, rate)| {
            let [least, most] = self.amount(*from);
            [low + rate * least, high + rate * most]
        })
    }

    /// Between what an amount stays.
    fn amount(&self, i: usize) -> Span {
        if self.at_zero[i] {
            return [0.0, 0.0];
        }
        let [begin, end] = self.amounts.map(|a| a.solutes()[i]);
        if self.flow.drift == 0.0 && self.kinetics.goes_one_way(i, true) {
            return span(begin, end);
        }
        let rates = self.volume.map(|v| self.kinetics.loss[i] + self.flow.out / v);
        let supply = self.supply(i);
        let [low, high] = towards(begin, supply, span(rates[0], rates[1]));
        let [least, most] = self.carried(begin, supply, rates[0].max(rates[1]));
        [low.max(least).min(end), high.min(most).max(end)]
    }

    /// Between what an amount stays that goes no faster than a supply and its fastest loss carry it.
    fn carried(&self, begin: f64, supply: Span, rate: f64) -> Span {
        let slowest = begin.max(0.0) * (1.0 - rate * self.days).max(0.0) + begin.min(0.0);
        [slowest + self.days * supply[0].min(0.0), begin.max(0.0) + self.days * supply[1].max(0.0)]
    }

    /// Wider bounds of a concentration, found in a fraction of the time; nothing for what hangs on others.
    pub(super) fn roughly(&self, i: usize) -> Option<Span> {
        if self.kinetics.hangs_on_others(i) {
            return None;
        }
        let own = self.flow.supply.solutes()[i] - self.kinetics.uptake[i];
        let rate = self.kinetics.loss[i] + self.flow.out / self.least_volume();
        Some(self.over_volume(self.carried(self.amounts[0].solutes()[i], [own, own], rate)))
    }

    fn concentration(&self, i: usize) -> Span {
        if self.at_zero[i] {
            return [0.0, 0.0];
        }
        let [begin, end] = [0, 1].map(|k| self.amounts[k].solutes()[i] / self.volume[k]);
        if self.kinetics.goes_one_way(i, self.flow.drift == 0.0) {
            return span(begin, end);
        }
        let sinks = self.volume.map(|v| self.kinetics.loss[i] * v + self.flow.drift + self.flow.out);
        let [low, high] = towards(begin, self.supply(i), span(sinks[0], sinks[1]));
        let [least, most] = self.over_volume(self.amount(i));
        [low.max(least).min(end), high.min(most).max(end)]
    }

    /// Amounts over the volume, whichever bounds the concentration for certain.
    fn over_volume(&self, [low, high]: Span) -> Span {
        let (least, most) = (self.least_volume(), self.volume[0].max(self.volume[1]));
        [low / if low > 0.0 { most } else { least }, high / if high > 0.0 { least } else { most }]
    }

    fn least_volume(&self) -> f64 {
        self.volume[0].min(self.volume[1])
    }
}

fn span(a: f64, b: f64) -> Span {
    [a.min(b), a.max(b)]
}

/// Between what a value stays that goes, from `begin`, towards a supply over a sink; without end where the sink may be none.
fn towards(begin: f64, supply: Span, sink: Span) -> Span {
    if sink[0] <= 0.0 {
        return [f64::NEG_INFINITY, f64::INFINITY];
    }
    let least = supply[0] / if supply[0] > 0.0 { sink[1] } else { sink[0] };
    let most = supply[1] / if supply[1] > 0.0 { sink[0] } else { sink[1] };
    [begin.min(least), begin.max(most)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Coupling, Stepper};
    use proptest::prelude::*;

    const SOLUTES: usize = 4;

    fn network(loss: [f64; SOLUTES], rates: [f64; 2], per: Option<[f64; 3]>) -> Kinetics {
        // Solute 0 becomes 1, and 1 becomes 2; 3 is alkalinity, moved by them or not.
        let loss = [loss[0] + rates[0], loss[1] + rates[1], loss[2], if per.is_some() { 0.0 } else { loss[3] }];
        Kinetics {
            loss: loss.to_vec(),
            removal: loss.to_vec(),
            made_from: vec![vec![], vec![(0, rates[0])], vec![(1, rates[1])], vec![]],
            uptake: vec![0.0; SOLUTES],
            calcified: vec![0.0; SOLUTES],
            order: (0..SOLUTES).filter(|i| loss[*i] != 0.0 || [1, 2].contains(i)).collect(),
            taking: vec![],
            chained: vec![true, true, true, false],
            coupling: per
                .map(|per| Coupling { alkalinity: 3, parts: per.iter().enumerate().map(|(i, p)| (i, *p)).collect() }),
        }
    }

    proptest! {
        /// The step itself, at 60 moments of a segment, never leaves the reach.
        #[test]
        fn nothing_leaves_its_reach(
            loss in [0.0..3.0, 0.0..0.5, 0.0..0.1, 0.0..0.1],
            rates in [0.0..9.0, 0.0..9.0],
            per in proptest::option::of([-0.07..0.0, 0.0..0.02, 0.0..0.02]),
            begin in [0.0..900.0, 0.0..90.0, 0.0..9000.0, -900.0..900.0],
            supply in [0.0..900.0, 0.0..90.0, -90.0..900.0, -90.0..90.0],
            drift in prop_oneof![Just(0.0), -9.0..9.0],
            out in prop_oneof![Just(0.0), 0.0..40.0],
            days in 0.01..3.0,
        ) {
            let mut stepper = Stepper::new(network(loss, rates, per));
            let row = |solutes: [f64; SOLUTES]| {
                let mut row = Amounts::none(SOLUTES);
                row.solutes_mut().copy_from_slice(&solutes);
                row
            };
            let (amounts, volume) = (row(begin), 100.0);
            let flow = Flow { volume, drift, out, supply: row(supply) };
            let mut integral = [0.0; SOLUTES];
            let mut at = |days: f64| {
                let mut then = Amounts::none(SOLUTES);
                stepper.step(&flow, &[false; SOLUTES], &amounts, days, &mut then, &mut integral);
                then
            };
            let inside: Vec<(f64, Amounts)> = (0..=60).map(|k| days * f64::from(k) / 60.0).map(|t| (t, at(t))).collect();
            let reach = Reach {
                kinetics: stepper.kinetics(),
                flow: &flow,
                at_zero: &[false; SOLUTES],
                amounts: [&amounts, &inside[60].1],
                volume: [volume, volume + drift * days],
                days,
            };
            for i in 0..SOLUTES {
                for [low, high] in [Some(reach.of(i)), reach.roughly(i)].into_iter().flatten() {
                    for (t, then) in &inside {
                        let value = then.solutes()[i] / (volume + drift * t);
                        let rounding = 1e-11 * (value.abs() + 1.0);
                        prop_assert!(low - rounding <= value && value <= high + rounding, "{i} at {t}: {low} {value} {high}");
                    }
                }
            }
        }
    }
}
