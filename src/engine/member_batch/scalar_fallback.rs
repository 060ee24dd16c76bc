//! One lane through one segment by the exact step alone: where the volume law is renewed, a band is left, the
//! level is off for long, the reservoir runs dry or the pump is too weak.

use super::super::flows::{DRY_L, EMPTY_SHARE, Mode, Pump, float_of_two_levels, float_that_works};
use super::super::observe::{Observer, Segment};
use super::super::root_events::law_ends;
use super::MemberBatch;
use super::member::{apart, summed};
use crate::model::{Amounts, Component, Flow, Kinetics, Stepper};

/// Most parts of a segment; three are usual.
const MOST_PARTS: usize = 16;

/// What it takes to go through a segment alone: the same for one lane after the other.
pub(super) struct ScalarFallback {
    stepper: Stepper,
    at_zero: Vec<bool>,
    flow: Flow,
    amounts: Amounts,
    after: Amounts,
    scratch: Amounts,
    integral: Vec<f64>,
}

impl ScalarFallback {
    /// For lanes of so many solutes; their uptakes are in their supply.
    pub(super) fn new(solutes: usize) -> Self {
        let n = solutes;
        let kinetics = Kinetics {
            loss: vec![0.0; n],
            removal: vec![0.0; n],
            made_from: vec![Vec::new(); n],
            uptake: vec![0.0; n],
            calcified: vec![0.0; n],
            order: Vec::new(),
            taking: Vec::new(),
            chained: vec![false; n],
            coupling: None,
        };
        Self {
            stepper: Stepper::new(kinetics),
            at_zero: vec![false; n],
            flow: Flow { supply: Amounts::none(n), ..Flow::default() },
            amounts: Amounts::none(n),
            after: Amounts::none(n),
            scratch: Amounts::none(n),
            integral: vec![0.0; n],
        }
    }
}

impl MemberBatch {
    /// Takes lane `l` through a segment again; nothing where it meets what only a member alone can do.
    pub(super) fn single(&mut self, alone: &mut ScalarFallback, l: usize, days: f64) -> Option<()> {
        let ScalarFallback { stepper, at_zero, flow, amounts, after, scratch, integral } = alone;
        stepper.lose(self.loss[2..].iter().map(|column| column[l]));
        stepper.couple(self.coupling.clone());
        amounts.row_mut().iter_mut().zip(&self.before).for_each(|(amount, column)| *amount = column[l]);
        apart(self.coupling.as_ref(), amounts);
        let (mut from, mut rest) = (self.time, days);
        self.float.on[l] = self.float.before[l];
        for _ in 0..MOST_PARTS {
            let law = self.laws[l];
            let now = self.flow(l, amounts, rest, flow)?;
            let (top_off, mut part) = (now.top_off, now.days);
            self.float.on[l] = if now.pump == Pump::On { 1.0 } else { 0.0 };
            stepper.step(flow, at_zero, amounts, part, after, integral);
            let weighed = law.weigh(amounts.water_and_salt());
            let mut then = law.weigh(after.water_and_salt());
            if let Some(at) = law_ends(&law, flow, amounts.water_and_salt(), [weighed[1], then[1]], part) {
                part = at;
                stepper.step(flow, at_zero, amounts, part, after, integral);
                then = law.weigh(after.water_and_salt());
            }
            if self.taking.iter().any(|i| after.solutes()[*i] < 0.0) {
                return None;
            }
            self.crossings[l].segment(&mut Segment {
                stepper,
                flow,
                at_zero,
                law: &law,
                amounts,
                after,
                scratch,
                integral,
                over: &[],
                weighed: [weighed, then],
                from_d: from,
                days: part,
            });
            self.stock[l] -= top_off * part;
            if top_off > 0.0 && self.stock[l] <= DRY_L {
                self.stock[l] = 0.0;
                self.dry_d[l].get_or_insert(from + part);
            }
            std::mem::swap(amounts, after);
            (from, rest) = (from + part, if part < rest { rest - part } else { 0.0 });
            self.renew_law(l, amounts.water_kg(), amounts.salt_kg());
            if rest <= 0.0 {
                summed(self.coupling.as_ref(), amounts);
                self.amounts.iter_mut().zip(amounts.row()).for_each(|(column, amount)| column[l] = *amount);
                return Some(());
            }
        }
        None
    }

    /// Whether a level is neither at the rim nor so low that the return pump draws air, or near the bottom.
    fn is_within(&self, l: usize, volume: f64) -> bool {
        volume < self.rim[l] - self.tolerance[l] && volume > self.starve[l].max(2.0 * EMPTY_SHARE * self.mark[l])
    }

    /// Puts the flows in force from these amounts on into `flow`, for some of `rest` days: what
    /// [`Situation::flows`](super::super::flows::Situation::flows) gives for a float that works.
    fn flow(&self, l: usize, amounts: &Amounts, rest: f64, flow: &mut Flow) -> Option<Now> {
        let force = &self.force;
        let volume = self.laws[l].volume(amounts.water_kg(), amounts.salt_kg());
        let dry_kg = self.fresh_kg[l] * force.today[l];
        let unheld = self.carried[l] - self.water_l[l] * dry_kg;
        let need = -unheld / self.rise[l];
        let (level, pump, has_water) = (force.level[l], force.pump[l], self.stock[l] > 0.0);
        let mut now = Now { top_off: 0.0, days: rest, pump: if self.float.on[l] > 0.0 { Pump::On } else { Pump::Off } };
        let (mut mode, mut off, mut has_edge) = (Mode::Free, volume - level, has_water);
        if let Some(gap) = &force.gap {
            now.pump = float_of_two_levels(now.pump, volume, level, gap[l], self.tolerance[l]);
            has_edge = true;
            if now.pump == Pump::Off {
                off += gap[l];
            } else if has_water {
                (mode, now.top_off) = (Mode::Filling, pump);
            }
        } else if has_water {
            (mode, now.top_off) = float_that_works(off, self.tolerance[l], need, pump);
        }
        let (volume, drift) = match mode {
            Mode::Held => (level, 0.0),
            _ => (volume, unheld + now.top_off * self.rise[l]),
        };
        // Without water a float of one level has nothing to do when the level is right.
        if has_edge && off.abs() > self.tolerance[l] && off * drift < 0.0 {
            now.days = now.days.min(-off / drift);
        }
        if now.top_off > 0.0 {
            now.days = now.days.min(self.stock[l] / now.top_off);
        }
        (flow.volume, flow.drift, flow.out) = (volume, drift, force.out[l]);
        let supply = force.base.iter().zip(&force.fresh).map(|(base, fresh)| base[l] + now.top_off * fresh[l]);
        flow.supply.row_mut().iter_mut().zip(supply).for_each(|(own, supply)| *own = supply);
        flow.supply[Component::Water] -= dry_kg;
        apart(self.coupling.as_ref(), &mut flow.supply);
        (now.days > 0.0 && self.is_within(l, volume + drift * now.days)).then_some(now)
    }
}

/// What a float makes of the moment.
struct Now {
    /// Top-off \[L/d\].
    top_off: f64,
    /// For how long it stays so.
    days: f64,
    /// What the pump of a float of two levels does.
    pump: Pump,
}
