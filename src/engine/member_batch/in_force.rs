//! What is in force in all lanes while one regime lasts.

use super::super::event_queue::{EventQueue, SAME_INSTANT_D};
use super::events::{Changes, Doses};
use super::kernels::Column;
use super::member::{Member, MemberStretch};
use crate::model::{BEFORE_SOLUTES, Coupling, Evaporation, Plan, Stretch};

/// What the keeper and the room do, from one edge of a period to the next. A list of columns begins with water and salt
/// \[kg/d\], and the solutes follow.
pub(super) struct InForce {
    /// From when \[d\].
    pub(super) from: f64,
    pub(super) queue: EventQueue,
    /// Supply without top-off and evaporation, uptake taken off, and what a litre of top-off brings.
    pub(super) base: Vec<Column>,
    pub(super) fresh: Vec<Column>,
    /// First-order loss and dilution with the level held; the largest of these \[1/d\].
    pub(super) lambda: Vec<Column>,
    pub(super) fastest: Column,
    /// Tank water leaving, and the flow of the float's pump \[L/d\].
    pub(super) out: Column,
    pub(super) pump: Column,
    /// The level that the float holds, and how far it lets it fall before it starts its pump \[L\].
    pub(super) level: Column,
    pub(super) gap: Option<Column>,
    /// What the top-off reservoir holds when full \[L\].
    pub(super) capacity: Column,
    evaporation: Evaporations,
    /// Evaporation \[L/d\].
    pub(super) today: Column,
    pub(super) changes: Vec<Changes>,
    pub(super) doses: Vec<Doses>,
    /// Whether calcification takes calcium out of the salt in some lane: where there is hardly any, it is not for lanes.
    pub(super) lays_down: bool,
}

impl InForce {
    /// What is in force in the stretch of this place of a timetable's plan.
    pub(super) fn new(
        plan: &Plan,
        stretch: &Stretch<'_>,
        place: usize,
        coupling: Option<&Coupling>,
        members: &mut [Member],
    ) -> Self {
        let (regime, just_before) = (stretch.regime, stretch.from - 2.0 * SAME_INSTANT_D);
        let column = |of: &dyn Fn(&MemberStretch) -> f64| -> Column {
            members.iter().map(|m| of(&m.stretches[place])).collect()
        };
        let columns = |of: &dyn Fn(&Member, &MemberStretch, usize) -> f64| -> Vec<Column> {
            (0..plan.species.len() + BEFORE_SOLUTES)
                .map(|j| members.iter().map(|m| of(m, &m.stretches[place], j)).collect())
                .collect()
        };
        let fastest = |m: &Member| {
            let own = &m.stretches[place];
            m.loss.iter().fold(0.0, |most: f64, loss| most.max(*loss)) + own.out / own.level
        };
        let first_day = day_of(stretch.from);
        let (base, fresh) = (columns(&|_, s, j| s.base[j]), columns(&|_, s, j| s.fresh[j]));
        let (out, pump, level) = (column(&|s| s.out), column(&|s| s.pump), column(&|s| s.level));
        let lambda = columns(&|m, s, j| m.loss[j] + s.out / s.level);
        let gap = column(&|s| s.gap);
        let (capacity, today) = (column(&|s| s.capacity), column(&|s| s.evaporation.on_day(first_day)));
        let fastest = members.iter().map(fastest).collect();
        let lays_down = members.iter().any(|m| m.stretches[place].lays_down);
        let doses = regime.doses.iter().enumerate();
        let doses = doses.map(|(i, dose)| Doses::new(dose, coupling, members, |m| &m.stretches[place].doses[i]));
        let doses = doses.collect();
        let mut own: Vec<&mut MemberStretch> = members.iter_mut().map(|m| &mut m.stretches[place]).collect();
        let changes = regime.changes.iter().enumerate();
        let changes = changes.map(|(i, change)| Changes::new(i, change.fill, just_before, &mut own)).collect();
        let evaporation = own.iter().map(|s| s.evaporation.clone());
        Self {
            from: stretch.from,
            queue: EventQueue::new(plan, regime, just_before),
            evaporation: Evaporations::new(evaporation.collect(), first_day, stretch.until),
            gap: gap.iter().any(|gap| *gap > 0.0).then_some(gap),
            base,
            fresh,
            lambda,
            fastest,
            out,
            pump,
            level,
            capacity,
            today,
            changes,
            doses,
            lays_down,
        }
    }

    /// Looks up what evaporates from a midnight on.
    pub(super) fn pass_midnight(&mut self, time: f64) {
        self.evaporation.put(day_of(time), &mut self.today);
    }
}

/// The day on which a time lies.
fn day_of(time: f64) -> f64 {
    (time + SAME_INSTANT_D).floor()
}

/// How evaporation goes from day to day.
enum Evaporations {
    /// Each day is as the first.
    Same,
    /// From a day on, a row a day, in it the lanes: one midnight reads one row.
    Drawn(f64, Column),
    /// Each lane knows its own.
    Known(Vec<Evaporation>),
}

impl Evaporations {
    /// That of lanes from a day until a time \[d\].
    fn new(lanes: Vec<Evaporation>, from: f64, until: f64) -> Self {
        if !lanes.iter().any(Evaporation::varies) {
            return Self::Same;
        }
        let drawn = lanes.iter().map(|e| if let Evaporation::Daily(days) = e { Some(&days[..]) } else { None });
        let Some(drawn) = drawn.collect::<Option<Vec<&[f64]>>>() else { return Self::Known(lanes) };
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days of a run")]
        let (first, after) = (from as usize, until.ceil() as usize);
        let after = after.min(drawn.iter().map(|days| days.len()).max().unwrap_or(0)).max(first + 1);
        // The last day stays.
        let on = |day: usize| move |days: &&[f64]| days.get(day).or(days.last()).copied().unwrap_or(0.0);
        let mut rows = Vec::with_capacity((after - first) * drawn.len());
        (first..after).for_each(|day| rows.extend(drawn.iter().map(on(day))));
        Self::Drawn(from, rows)
    }

    /// Puts the rates \[L/d\] of a day into `today`.
    fn put(&self, day: f64, today: &mut [f64]) {
        match self {
            Self::Same => {}
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days of a run")]
            Self::Drawn(first, rows) => {
                let mut rows = rows.chunks_exact(today.len().max(1));
                let last = rows.len().saturating_sub(1);
                if let Some(row) = rows.nth(last.min((day - first) as usize)) {
                    today.copy_from_slice(row);
                }
            }
            Self::Known(lanes) => today.iter_mut().zip(lanes).for_each(|(today, e)| *today = e.on_day(day)),
        }
    }
}
