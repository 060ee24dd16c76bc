//! What a lane needs of a member's plan, or that the member must walk alone.

use std::sync::Arc;

use super::super::EngineError;
use super::super::flows::{LEAST_SALT_PSU, LEVEL_TOLERANCE, Pump, Situation};
use super::super::waters::{contents, start_amounts, start_law};
use crate::model::{
    Amounts, BEFORE_SOLUTES, Basis, Change, Component, Coupling, Dose, Evaporation, FloatState, Id, Kinetics, Plan,
    Regime, Schedule, SoluteId, Stretch, Timing, VolumeLaw, Water,
};
use crate::units::{PracticalSalinity, Volume};

/// Stretches of one regime up to which a run goes in lanes: a room that is told day by day has one a day.
const MOST_STRETCHES: usize = 24;

/// What all members of a study have in common: when something is due, and what there is to do.
#[derive(Clone, Debug)]
pub struct Timetable {
    pub(super) plan: Plan,
    /// For each stretch of one regime the times of each change, those included that a member may miss; none where there are too
    /// many stretches for lanes.
    times: Vec<Vec<Vec<f64>>>,
}

/// The stretches of a plan in which one regime is in force, with the one that begins as the run ends.
pub(super) fn stretches(plan: &Plan) -> Vec<Stretch<'_>> {
    plan.stretches(0.0, plan.horizon.days() + 1.0)
}

impl Timetable {
    /// The timetable of a plan of which all members are made.
    #[must_use]
    pub fn new(plan: &Plan) -> Self {
        let mut plan = plan.clone();
        // The day's evaporation is looked up at midnight, whether it changes or not: what is due must not depend
        // on what the members drew.
        plan.regimes_mut().for_each(|regime| regime.evaporation = Evaporation::Daily([0.0].into()));
        let until = plan.horizon.days();
        let times = |change: &Change| match &change.timing {
            Timing::Scheduled(schedule) => schedule.between(-1.0, until),
            Timing::Triggered(_) => Vec::new(),
        };
        let own = stretches(&plan);
        let of = |s: &Stretch<'_>| s.regime.changes.iter().map(times).collect();
        let times = if own.len() > MOST_STRETCHES { Vec::new() } else { own.iter().map(of).collect() };
        Self { plan, times }
    }

    /// Whether a plan does what this timetable knows, at its times, with the level held by a float.
    fn suits(&self, plan: &Plan, own: &[Stretch<'_>], its: &[Stretch<'_>]) -> bool {
        let has_reservoir = |s: &Stretch<'_>| s.regime.top_off.reservoir.is_some();
        plan.disturbances.is_empty()
            && plan.basis == self.plan.basis
            && plan.species.len() == self.plan.species.len()
            && plan.species.iter().all(|s| s.conversion.is_none())
            && Coupling::of(&plan.species) == Coupling::of(&self.plan.species)
            && plan.bands == self.plan.bands
            && its.len() == own.len()
            && its.iter().all(|s| has_reservoir(s) == has_reservoir(&its[0]))
            && its.iter().zip(own).zip(&self.times).all(|((its, own), times)| {
                (its.from, its.period) == (own.from, own.period) && suits(its.regime, own.regime, times)
            })
    }
}

/// Whether a regime does what another does, at its times, with the level held by a float.
fn suits(regime: &Regime, own: &Regime, times: &[Vec<f64>]) -> bool {
    let top_off = &regime.top_off;
    let has_gap = |regime: &Regime| regime.top_off.gap > Volume::default();
    regime.by_day.is_none()
        && top_off.float == FloatState::Works
        && has_gap(regime) == has_gap(own)
        && top_off.reservoir.as_ref().map(|r| &r.refill) == own.top_off.reservoir.as_ref().map(|r| &r.refill)
        && regime.intrusion.is_none()
        && regime.reading.as_ref().is_none_or(|r| r.correction.is_none())
        && regime.changes.len() == own.changes.len()
        && regime.changes.iter().zip(&own.changes).zip(times).all(|((c, own), times)| alike(c, own, times))
        && regime.doses.len() == own.doses.len()
        && regime.doses.iter().zip(&own.doses).all(|(d, own)| {
            d.schedule == own.schedule && d.brings.iter().map(|b| b.0).eq(own.brings.iter().map(|b| b.0))
        })
}

/// Whether a change is done as another is, at all of its times or at some.
fn alike(change: &Change, other: &Change, times: &[f64]) -> bool {
    let at_its_times = match (&change.timing, &other.timing) {
        (Timing::Scheduled(a), Timing::Scheduled(b)) if a == b => true,
        (Timing::Scheduled(Schedule::Listed(some)), Timing::Scheduled(_)) => {
            let mut rest = times.iter();
            some.iter().all(|t| rest.any(|other| other == t))
        }
        _ => false,
    };
    at_its_times && change.fill == other.fill && !change.top_off_on && !change.skipped
}

/// The numbers of one member.
pub(super) struct Member {
    pub(super) amounts: Vec<f64>,
    /// First-order loss \[1/d\]; none of water and salt.
    pub(super) loss: Vec<f64>,
    /// Whether a solute has an uptake, which would stop at zero.
    pub(super) takes: Vec<bool>,
    /// Kilograms of a litre of fresh water.
    pub(super) fresh_kg_per_l: f64,
    /// The mark, and the rim \[L\].
    pub(super) mark: f64,
    pub(super) rim: f64,
    /// The level at which the return pump draws air, with what counts as at it \[L\]; none where it is not stated.
    pub(super) starve: f64,
    pub(super) tolerance: f64,
    /// What is in the top-off reservoir at the start \[L\].
    pub(super) stock: f64,
    pub(super) law: VolumeLaw,
    /// What is done in each stretch.
    pub(super) stretches: Vec<MemberStretch>,
}

/// What one member does while one regime is in force.
pub(super) struct MemberStretch {
    /// Supply without top-off and evaporation, uptake taken off \[kg/d, kg/d, amount/d\].
    pub(super) base: Vec<f64>,
    /// What a litre of top-off brings.
    pub(super) fresh: Vec<f64>,
    /// Tank water leaving \[L/d\].
    pub(super) out: f64,
    /// Flow of the float's pump \[L/d\].
    pub(super) pump: f64,
    /// The level that the float holds, and how far it lets it fall \[L\].
    pub(super) level: f64,
    pub(super) gap: f64,
    /// What the top-off reservoir holds when full \[L\].
    pub(super) capacity: f64,
    pub(super) evaporation: Evaporation,
    pub(super) changes: Vec<MemberChange>,
    /// What each dose brings of each of its components \[kg or amount\].
    pub(super) doses: Vec<Vec<f64>>,
    /// Whether calcification takes calcium out of the salt.
    pub(super) lays_down: bool,
}

/// A change as one member does it.
pub(super) struct MemberChange {
    /// Its times, where the member misses some.
    pub(super) missing: Option<Schedule>,
    pub(super) litres: f64,
    pub(super) content: Vec<f64>,
    pub(super) errors: Option<Errors>,
}

/// Batches that miss.
pub(super) struct Errors {
    psu: Arc<[f64]>,
    truth: PracticalSalinity,
    water: Water,
    basis: Basis,
    coupling: Option<Coupling>,
}

impl Member {
    /// The numbers of a plan; nothing where it must walk alone.
    pub(super) fn of(timetable: &Timetable, plan: &Plan) -> Result<Option<Self>, EngineError> {
        if timetable.times.is_empty() {
            return Ok(None);
        }
        let (own, its) = (stretches(&timetable.plan), stretches(plan));
        if !timetable.suits(plan, &own, &its) {
            return Ok(None);
        }
        let (law, amounts) = (start_law(plan)?, start_amounts(plan)?);
        let operating = plan.tank.operating.litres();
        let volume = law.volume(amounts.water_kg(), amounts.salt_kg());
        let kinetics = Kinetics::new(&plan.species)?;
        let given = |(own, its): (&Stretch<'_>, &Stretch<'_>)| {
            MemberStretch::of(own.regime, plan, its.regime, &law, kinetics.coupling.as_ref())
        };
        let stretches = own.iter().zip(&its).map(given).collect::<Result<Option<Vec<_>>, EngineError>>()?;
        let Some(stretches) = stretches else { return Ok(None) };
        let member = Self {
            loss: [0.0, 0.0].into_iter().chain(plan.species.iter().map(|s| s.removal.per_day())).collect(),
            takes: (0..plan.species.len()).map(|i| kinetics.taking.contains(&i)).collect(),
            fresh_kg_per_l: plan.basis.fresh_kg_per_l(plan.tank.temperature),
            mark: operating,
            rim: plan.tank.rim.map_or(f64::INFINITY, Volume::litres),
            starve: plan.tank.starve.map_or(f64::NEG_INFINITY, |s| s.litres() + 2.0 * LEVEL_TOLERANCE * operating),
            tolerance: LEVEL_TOLERANCE * operating,
            stock: its[0].regime.top_off.capacity_l(),
            law,
            stretches,
            amounts: row(&amounts, kinetics.coupling.as_ref()),
        };
        let highest = member.stretches.iter().map(|s| s.level).fold(volume, f64::max);
        let lays_down = member.stretches.iter().any(|s| s.lays_down);
        if highest + member.tolerance >= member.rim || lays_down && plan.tank.salinity.psu() < LEAST_SALT_PSU + 1.0 {
            return Ok(None);
        }
        Ok(Some(member))
    }
}

/// Amounts, with alkalinity in its sum with nitrogen.
fn row(amounts: &Amounts, coupling: Option<&Coupling>) -> Vec<f64> {
    let mut amounts = amounts.clone();
    summed(coupling, &mut amounts);
    amounts.row().to_vec()
}

impl MemberStretch {
    /// The numbers of a regime of a plan, beside those of the timetable's; nothing where the plan must walk alone.
    fn of(
        own: &Regime,
        plan: &Plan,
        regime: &Regime,
        law: &VolumeLaw,
        coupling: Option<&Coupling>,
    ) -> Result<Option<Self>, EngineError> {
        let Some(pump) = regime.top_off.pump() else { return Ok(None) };
        let contents = contents(plan, regime)?;
        let situation = Situation {
            plan,
            regime,
            law,
            contents: &contents,
            day: 0.0,
            hour: 0.0,
            volume: plan.tank.volume.litres(),
            reservoir_l: regime.top_off.capacity_l(),
            pump: Pump::Off,
            lays_down: true,
            coupling,
        };
        let force = situation.steady();
        let mut base = row(&force.flow.supply, coupling);
        base[BEFORE_SOLUTES..]
            .iter_mut()
            .zip(&plan.species)
            .for_each(|(base, species)| *base -= species.uptake_per_day);
        let changes = regime.changes.iter().zip(&own.changes).map(|(change, all)| {
            let Timing::Scheduled(schedule) = &change.timing else { return Ok(None) };
            let water = &plan.waters[change.water];
            let errors = change.batch_offset_psu != 0.0 || !change.batch_errors_psu.is_empty();
            let truth = PracticalSalinity::from_psu(regime.truth(water)?.psu() + change.batch_offset_psu);
            Ok(Some(MemberChange {
                missing: (change.timing != all.timing).then(|| schedule.clone()),
                litres: change.amount.of(plan.tank.operating).litres(),
                content: row(&contents[change.water], coupling),
                errors: errors.then(|| Errors {
                    psu: change.batch_errors_psu.clone(),
                    truth,
                    water: water.clone(),
                    coupling: coupling.cloned(),
                    basis: plan.basis,
                }),
            }))
        });
        let Some(changes) = changes.collect::<Result<Option<Vec<_>>, EngineError>>()? else { return Ok(None) };
        let dose = |d: &Dose| brings(d, coupling).iter().map(|b| b.1).collect();
        Ok(Some(Self {
            base,
            fresh: row(&contents[regime.top_off.water], coupling),
            out: force.flow.out,
            pump: pump.litres_per_day(),
            level: plan.tank.operating.litres() + regime.top_off.level_offset.litres(),
            gap: regime.top_off.gap.litres(),
            capacity: regime.top_off.capacity_l(),
            evaporation: regime.evaporation.clone(),
            changes,
            doses: regime.doses.iter().map(dose).collect(),
            lays_down: regime.laid_down_kg_per_d > 0.0,
        }))
    }
}

/// Puts in the place of alkalinity its sum with the nitrogen that moves it: in a lane nothing reacts with it.
pub(super) fn summed(coupling: Option<&Coupling>, amounts: &mut Amounts) {
    if let Some(coupling) = coupling {
        let parts = coupling.parts_of(amounts.solutes());
        amounts.solutes_mut()[coupling.alkalinity] += parts;
    }
}

/// Puts alkalinity back in the place of its sum with nitrogen.
pub(super) fn apart(coupling: Option<&Coupling>, amounts: &mut Amounts) {
    if let Some(coupling) = coupling {
        let parts = coupling.parts_of(amounts.solutes());
        amounts.solutes_mut()[coupling.alkalinity] -= parts;
    }
}

/// What a dose brings of each component, and of the sum of alkalinity and nitrogen.
pub(super) fn brings(dose: &Dose, coupling: Option<&Coupling>) -> Vec<(Component, f64)> {
    let mut list = dose.brings.clone();
    if let Some(coupling) = coupling {
        let per = |of: &Component| if let Component::Solute(i) = of { coupling.per(i.place()) } else { 0.0 };
        let parts = dose.brings.iter().map(|(of, amount)| per(of) * amount).sum();
        list.push((Component::Solute(SoluteId::of(coupling.alkalinity)), parts));
    }
    list
}

impl Errors {
    /// What a litre of the batch of this number holds.
    pub(super) fn batch(&self, number: usize) -> Result<Amounts, EngineError> {
        let truth = self.truth.psu() + self.psu.get(number).copied().unwrap_or(0.0);
        let salinity = PracticalSalinity::from_psu(truth.max(0.0));
        let mut litre = self.water.content(self.basis, salinity)?;
        summed(self.coupling.as_ref(), &mut litre);
        Ok(litre)
    }
}
