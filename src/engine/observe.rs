//! Watching a run: its rows, and the stretches between them.

use super::reach::Reach;
use crate::model::{Amounts, Flow, Id, Node, SoluteId, Stepper, Variable, VolumeLaw};
use crate::results::{EventRecord, Trace};

/// The tank at an instant.
#[derive(Clone, Copy, Debug)]
pub struct Row<'a> {
    /// Days from the start.
    pub time_d: f64,
    /// What happened; empty on the grid and just before an event.
    pub event: &'static str,
    /// System volume \[L\].
    pub volume_l: f64,
    /// Practical salinity \[psu\].
    pub salinity_psu: f64,
    /// Water kg, salt kg, then the solutes.
    pub amounts: &'a Amounts,
}

impl Row<'_> {
    /// The value of a watched quantity in its own unit.
    #[must_use]
    pub fn value(&self, of: Variable) -> f64 {
        match of {
            Variable::Salinity => self.salinity_psu,
            Variable::Solute(solute) => self.amounts[solute] / self.volume_l,
        }
    }
}

/// An interval of time under constant flows, to be looked into.
pub struct Segment<'a> {
    pub(super) stepper: &'a mut Stepper,
    pub(super) flow: &'a Flow,
    pub(super) at_zero: &'a [bool],
    pub(super) law: &'a VolumeLaw,
    pub(super) amounts: &'a Amounts,
    pub(super) after: &'a Amounts,
    pub(super) scratch: &'a mut Amounts,
    pub(super) integral: &'a mut [f64],
    /// `∫x dt` over the segment of every solute that reacts, as it was stepped; empty where that is not known.
    pub(super) over: &'a [f64],
    /// Volume \[L\] and salinity \[psu\] at its beginning and at its end.
    pub(super) weighed: [[f64; 2]; 2],
    /// Days from the start of the run to the start of the segment.
    pub from_d: f64,
    /// Its length \[d\].
    pub days: f64,
}

impl Segment<'_> {
    /// A quantity (`None` is the volume) at its beginning and at its end.
    pub(super) fn ends(&self, of: Option<Variable>) -> [f64; 2] {
        let [[begin_l, begin_psu], [end_l, end_psu]] = self.weighed;
        match of {
            None => [begin_l, end_l],
            Some(Variable::Salinity) => [begin_psu, end_psu],
            Some(Variable::Solute(solute)) => [self.amounts[solute] / begin_l, self.after[solute] / end_l],
        }
    }

    /// Whether a quantity only rises or only falls within the segment.
    ///
    /// Salinity is a ratio of two amounts that are diluted alike, and moves towards the salinity of what
    /// comes in. So does a concentration, where nothing is made of it and either the volume or the
    /// amount without dilution stays.
    pub(super) fn goes_one_way(&self, of: Variable) -> bool {
        match of {
            Variable::Salinity => true,
            Variable::Solute(solute) => self.stepper.kinetics().goes_one_way(solute.place(), self.flow.drift == 0.0),
        }
    }

    /// What bounds the concentration of a solute within the segment for certain, and its place; nothing for salinity and volume,
    /// which go one way.
    pub(super) fn reach(&self, of: Option<Variable>) -> Option<(Reach<'_>, usize)> {
        let Some(Variable::Solute(solute)) = of else { return None };
        let reach = Reach {
            kinetics: self.stepper.kinetics(),
            flow: self.flow,
            at_zero: self.at_zero,
            amounts: [self.amounts, self.after],
            volume: self.ends(None),
            days: self.days,
        };
        Some((reach, solute.place()))
    }

    /// Pieces (begin, length) within which Gauss–Legendre nodes are at round-off.
    pub fn pieces(&self) -> impl Iterator<Item = (f64, f64)> + use<> {
        self.stepper.pieces(self.flow, self.days)
    }

    /// The value of a quantity (`None` is the volume) `days` into the segment.
    pub(super) fn value_at(&mut self, of: Option<Variable>, days: f64) -> f64 {
        if let Some(of @ Variable::Solute(solute)) = of {
            let i = solute.place();
            return match self.stepper.single(self.flow, self.at_zero[i], i, self.amounts.solutes()[i], days) {
                Some(amount) => {
                    let volume = self.law.volume(self.amounts.water_kg(), self.amounts.salt_kg());
                    amount / (volume + self.flow.drift * days)
                }
                None => self.at(days).value(of),
            };
        }
        // Water and salt know nothing of the solutes.
        let [water, salt] = self.flow.water_and_salt([self.amounts.water_kg(), self.amounts.salt_kg()], days);
        if of.is_some() { self.law.salinity_psu(water, salt) } else { self.law.volume(water, salt) }
    }

    /// `∫ dt` over the segment of what has a closed form or does not react, from its ends; nothing where it must be looked into.
    pub(super) fn integral(&mut self, of: Option<Variable>, ends: [f64; 2]) -> Option<f64> {
        let Some(of) = of else {
            // The volume is linear.
            return Some(0.5 * (ends[0] + ends[1]) * self.days);
        };
        let (flow, law, drift) = (self.flow, self.law, self.flow.drift);
        let Variable::Solute(solute) = of else {
            if ends[0] == ends[1] {
                // It goes one way, so it stays.
                return Some(ends[0] * self.days);
            }
            let (amounts, supply) = (self.amounts.water_and_salt(), flow.supply.water_and_salt());
            let nodes = self.stepper.unreacted_nodes(flow, self.days).each.iter();
            let psu = |n: &Node| {
                let [water, salt] = [0, 1].map(|j| n.keep * amounts[j] + n.gain * supply[j]);
                n.weight * law.salinity_psu(water, salt)
            };
            return Some(nodes.map(psu).sum());
        };
        let i = solute.place();
        let kinetics = self.stepper.kinetics();
        if self.at_zero[i] {
            return Some(0.0);
        }
        let begin = self.weighed[0][0];
        if kinetics.order.contains(&i) {
            return (drift == 0.0).then(|| self.over.get(i)).flatten().map(|integral| integral / begin);
        }
        let (mut amount, mut supply) = (self.amounts.solutes()[i], flow.supply.solutes()[i] - kinetics.uptake[i]);
        let mut parts = 0.0;
        if let Some(coupling) = kinetics.coupling.as_ref().filter(|c| c.alkalinity == i).cloned() {
            // Its sum with nitrogen does not react.
            amount += coupling.parts_of(self.amounts.solutes());
            supply += coupling.parts_of(flow.supply.solutes());
            for (part, per) in coupling.parts {
                let part = Some(Variable::Solute(SoluteId::of(part)));
                parts += per * self.integral(part, self.ends(part))?;
            }
        }
        if flow.out == 0.0 && drift == 0.0 {
            // Nothing leaves and the volume stays: it is linear.
            return Some((amount + 0.5 * self.days * supply) * self.days / begin - parts);
        }
        let nodes = self.stepper.unreacted_nodes(flow, self.days);
        if drift == 0.0 {
            return Some((nodes.kept * amount + nodes.gained * supply) / begin - parts);
        }
        let at = |n: &Node| n.weight * (n.keep * amount + n.gain * supply) / (begin + drift * n.at);
        Some(nodes.each.iter().map(at).sum::<f64>() - parts)
    }

    /// The tank `days` into the segment.
    pub fn at(&mut self, days: f64) -> Row<'_> {
        self.stepper.step(self.flow, self.at_zero, self.amounts, days, self.scratch, self.integral);
        let (water, salt) = (self.scratch.water_kg(), self.scratch.salt_kg());
        Row {
            time_d: self.from_d + days,
            event: "",
            volume_l: self.law.volume(water, salt),
            salinity_psu: self.law.salinity_psu(water, salt),
            amounts: self.scratch,
        }
    }
}

/// Something that watches a run.
pub trait Observer {
    /// A row of the output grid, or just before or after an event.
    fn row(&mut self, row: &Row<'_>);
    /// An event with its particulars.
    fn event(&mut self, _event: EventRecord) {}
    /// Whether [`Observer::segment`] is to be called.
    fn looks_inside(&self) -> bool {
        false
    }
    /// Whether [`Observer::event`] is to be called.
    fn wants_words(&self) -> bool {
        false
    }
    /// An interval of constant flows, with its end worked out.
    fn segment(&mut self, _segment: &mut Segment<'_>) {}
}

/// Watches nothing.
#[derive(Clone, Copy, Debug, Default)]
pub struct Nothing;

impl Observer for Nothing {
    fn row(&mut self, _: &Row<'_>) {}
}

impl Observer for Trace {
    fn row(&mut self, row: &Row<'_>) {
        self.time_d.push(row.time_d);
        self.event.push(row.event);
        self.volume_l.push(row.volume_l);
        self.salinity_psu.push(row.salinity_psu);
        for (column, amount) in self.solutes.iter_mut().zip(row.amounts.solutes()) {
            column.push(amount / row.volume_l);
        }
    }
}
