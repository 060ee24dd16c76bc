//! What is done at an instant, in all lanes.

use super::super::event_queue::{Event, SAME_INSTANT_D};
use super::super::{EngineError, Observer, Row};
use super::MemberBatch;
use super::kernels::{self, Column};
use super::member::{Errors, Member, MemberStretch, apart, brings};
use crate::model::limits::LARGEST_SHARE;
use crate::model::{Amounts, Component, Coupling, Cursor, Dose, Fill, Schedule, Variable};

/// One change of the timetable in all lanes.
pub(super) struct Changes {
    fill: Fill,
    litres: Column,
    /// What a litre of each lane's new water brings.
    content: Vec<Column>,
    errors: Vec<Option<Errors>>,
    /// The times of a lane that misses some.
    missing: Vec<Option<(Schedule, Cursor)>>,
}

impl Changes {
    /// The change at this place of a regime, from just after a time on.
    pub(super) fn new(place: usize, fill: Fill, after: f64, lanes: &mut [&mut MemberStretch]) -> Self {
        let quantities = lanes.first().map_or(0, |m| m.base.len());
        let content = |j: usize| lanes.iter().map(|m| m.changes[place].content[j]).collect();
        Self {
            fill,
            litres: lanes.iter().map(|m| m.changes[place].litres).collect(),
            content: (0..quantities).map(content).collect(),
            missing: lanes
                .iter_mut()
                .map(|m| m.changes[place].missing.take())
                .map(|some| {
                    let cursor = Cursor::after(some.as_ref()?, after);
                    Some((some?, cursor))
                })
                .collect(),
            errors: lanes.iter_mut().map(|m| m.changes[place].errors.take()).collect(),
        }
    }

    /// Litres that each lane takes out now, and how often each has `done` this change: none in a lane that misses it, or
    /// has left.
    fn asked(&mut self, time: f64, gone: &[bool], done: &mut [usize]) -> Result<Column, EngineError> {
        let mut asked = self.litres.clone();
        for (l, missing) in self.missing.iter_mut().enumerate() {
            if let Some((schedule, cursor)) = missing {
                if cursor.next(schedule).is_none_or(|next| next > time + SAME_INSTANT_D) {
                    asked[l] = 0.0;
                    continue;
                }
                cursor.advance();
            }
            if gone[l] {
                asked[l] = 0.0;
                continue;
            }
            if let Some(errors) = &self.errors[l] {
                let batch = errors.batch(done[l])?;
                self.content.iter_mut().zip(batch.row()).for_each(|(column, content)| column[l] = *content);
            }
            done[l] += 1;
        }
        Ok(asked)
    }
}

/// One dose of the timetable in all lanes.
pub(super) struct Doses {
    /// What it brings of each component.
    brings: Vec<(Component, Column)>,
    /// Whether it brings water or salt in some lane, which move level and salinity.
    moves_level: bool,
}

impl Doses {
    /// A dose, of which `of` finds what a member's brings.
    pub(super) fn new(
        dose: &Dose,
        coupling: Option<&Coupling>,
        members: &[Member],
        of: impl Fn(&Member) -> &Vec<f64>,
    ) -> Self {
        let column = |k: usize| -> Column { members.iter().map(|m| of(m)[k]).collect() };
        let brings: Vec<_> = brings(dose, coupling).iter().enumerate().map(|(k, (of, _))| (*of, column(k))).collect();
        let counts = |(of, column): &(Component, Column)| {
            !matches!(of, Component::Solute(_)) && column.iter().any(|amount| *amount != 0.0)
        };
        Self { moves_level: brings.iter().any(counts), brings }
    }
}

impl MemberBatch {
    /// Performs one act in all lanes.
    #[inline(always)]
    pub(super) fn act(&mut self, act: Event) -> Result<(), EngineError> {
        match act {
            Event::Midnight => {
                self.force.pass_midnight(self.time);
            }
            Event::Refill => self.stock.copy_from_slice(&self.force.capacity),
            Event::Change(i) => self.change(i)?,
            Event::Dose(i) => self.dose(i),
            // A reading moves nothing, a row is taken elsewhere, and the rest is no part of a timetable.
            Event::Reading | Event::Row | Event::FaultEdge | Event::TopOff => {}
        }
        Ok(())
    }

    #[inline(always)]
    fn change(&mut self, i: usize) -> Result<(), EngineError> {
        let change = &mut self.force.changes[i];
        let mut litres = change.asked(self.time, &self.gone, &mut self.done[i])?;
        litres.iter_mut().zip(&self.volume).for_each(|(litres, volume)| *litres = litres.min(LARGEST_SHARE * volume));
        let share: Column = litres.iter().zip(&self.volume).map(|(litres, volume)| litres / volume).collect();
        for column in &mut self.amounts {
            column.iter_mut().zip(&share).for_each(|(amount, share)| *amount -= *amount * share);
        }
        if change.fill == Fill::ToMark {
            let (n, mark) = (litres.len(), &self.mark);
            let (water_l, salt_l) = (&self.water_l[..n], &self.salt_l[..n]);
            let [volume, rise] = [&self.amounts, &change.content].map(|of| -> Column {
                let (water, salt) = (&of[0][..n], &of[1][..n]);
                (0..n).map(|l| water_l[l] * water[l] + salt_l[l] * salt[l]).collect()
            });
            for (l, litres) in litres.iter_mut().enumerate() {
                *litres = if *litres > 0.0 { ((mark[l] - volume[l]) / rise[l]).max(0.0) } else { 0.0 };
            }
            // Where the new water moves the salinity so far that the law is renewed, the fill follows it.
            let [factor, second] = self.salinity;
            for (l, litres) in litres.iter_mut().enumerate() {
                let [now, litre] = [&self.amounts, &change.content].map(|of| [of[0][l], of[1][l]]);
                let (water, salt) = (now[0] + *litres * litre[0], now[1] + *litres * litre[1]);
                let psu = factor * salt / (water + second * salt);
                if *litres > 0.0 && !(self.low_psu[l]..=self.high_psu[l]).contains(&psu) {
                    *litres = self.laws[l].litres_to(mark[l], now, litre);
                }
            }
        }
        for (column, content) in self.amounts.iter_mut().zip(&change.content) {
            for ((amount, litres), content) in column.iter_mut().zip(&litres).zip(content) {
                *amount += litres * content;
            }
        }
        self.look_at_instant();
        Ok(())
    }

    #[inline(always)]
    fn dose(&mut self, i: usize) {
        let dose = &self.force.doses[i];
        for (of, amounts) in &dose.brings {
            self.amounts[of.place()].iter_mut().zip(amounts).for_each(|(amount, more)| *amount += more);
        }
        // A solute that a band watches may be gone again by the end of the segment.
        let watched = |(of, _): &(Component, Column)| {
            self.bands
                .iter()
                .any(|band| matches!((band.of, of), (Variable::Solute(a), Component::Solute(b)) if a == *b))
        };
        if dose.moves_level || dose.brings.iter().any(watched) {
            self.look_at_instant();
        }
    }

    /// Looks at the state that an act has left behind.
    #[inline(always)]
    pub(super) fn look_at_instant(&mut self) {
        self.misfit.fill(0.0);
        kernels::look(self);
        self.look_at_strained();
        for l in 0..self.count() {
            // What goes over the rim is not for lanes.
            if self.volume[l] > self.rim[l] {
                self.leave(l);
            }
        }
        self.look_at_level();
    }

    /// Looks at strained lanes one by one, at an instant.
    fn look_at_strained(&mut self) {
        if !self.is_strained() {
            return;
        }
        for l in 0..self.count() {
            if !Self::is_strain(self.misfit[l]) || self.gone[l] {
                continue;
            }
            self.renew_law(l, self.amounts[0][l], self.amounts[1][l]);
            self.weigh(l);
            if self.volume[l] <= self.starve[l] {
                self.leave(l);
                continue;
            }
            let mut amounts = Amounts::from(self.amounts.iter().map(|column| column[l]).collect::<Vec<_>>());
            apart(self.coupling.as_ref(), &mut amounts);
            self.crossings[l].row(&Row {
                time_d: self.time,
                event: "",
                volume_l: self.volume[l],
                salinity_psu: self.psu[l],
                amounts: &amounts,
            });
            self.forget_left(l);
        }
    }
}
