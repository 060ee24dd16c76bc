//! Watching a run: its rows, and the stretches between them.

use crate::model::{Amounts, Flow, Id, Stepper, Variable, VolumeLaw};
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
    /// Days from the start of the run to the start of the segment.
    pub from_d: f64,
    /// Its length \[d\].
    pub days: f64,
}

impl Segment<'_> {
    /// The tank at its beginning and at its end.
    pub(super) fn ends(&self) -> [Row<'_>; 2] {
        [(self.from_d, self.amounts), (self.from_d + self.days, self.after)].map(|(time_d, amounts)| Row {
            time_d,
            event: "",
            volume_l: self.law.volume(amounts.water_kg(), amounts.salt_kg()),
            salinity_psu: self.law.salinity_psu(amounts.water_kg(), amounts.salt_kg()),
            amounts,
        })
    }

    /// Whether a quantity only rises or only falls within the segment.
    ///
    /// Salinity is a ratio of two amounts that are diluted alike, and moves towards the salinity of what
    /// comes in. So does a concentration, where nothing is made of it and either the volume or the
    /// amount without dilution stays.
    pub(super) fn goes_one_way(&self, of: Variable) -> bool {
        match of {
            Variable::Salinity => true,
            Variable::Solute(solute) => {
                let i = solute.place();
                let kinetics = self.stepper.kinetics();
                !kinetics.hangs_on_others(i) && (self.flow.drift == 0.0 || kinetics.loss[i] == 0.0)
            }
        }
    }

    /// Four values between which a concentration stays within the segment; nothing where no bound is known. Where it
    /// turns it equals what it would settle at in the volume of that moment, `p/(kV + a + q)`, so it stays between its
    /// ends and those two.
    pub(super) fn reach(&self, of: Option<Variable>) -> Option<[f64; 4]> {
        let Some(of @ Variable::Solute(solute)) = of else { return None };
        let i = solute.place();
        let kinetics = self.stepper.kinetics();
        if kinetics.hangs_on_others(i) || self.at_zero[i] {
            return None;
        }
        let [begin, end] = self.ends();
        let supply = self.flow.supply.solutes()[i] - kinetics.uptake[i];
        let settled = |row: &Row<'_>| {
            let sink = kinetics.loss[i] * row.volume_l + self.flow.drift + self.flow.out;
            (sink > 0.0).then(|| supply / sink)
        };
        Some([begin.value(of), end.value(of), settled(&begin)?, settled(&end)?])
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

    /// `∫ dt` of a concentration over the segment, where it has a closed form.
    pub(super) fn integral(&self, of: Option<Variable>) -> Option<f64> {
        let Some(Variable::Solute(solute)) = of else { return None };
        let i = solute.place();
        let volume = self.law.volume(self.amounts.water_kg(), self.amounts.salt_kg());
        let amount =
            self.stepper.single_integral(self.flow, self.at_zero[i], i, self.amounts.solutes()[i], self.days)?;
        Some(amount / volume)
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

/// Something that variables a run.
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
    /// An interval of constant flows, before it is stepped over.
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
