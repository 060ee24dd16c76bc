//! What a lane needs of a member's plan, or that the member must walk alone.

use std::sync::Arc;

use super::super::EngineError;
use super::super::flows::{LEAST_SALT_PSU, LEVEL_TOLERANCE, Pump, Situation};
use super::super::waters::{contents, start_amounts, start_law};
use crate::model::{
    Amounts, Basis, Change, Component, Coupling, Dose, Evaporation, FloatState, Id, Kinetics, Plan, Schedule, SoluteId,
    Timing, VolumeLaw, Water,
};
use crate::units::{PracticalSalinity, Volume};

/// What all members of a study have in common: when something is due, and what there is to do.
#[derive(Clone, Debug)]
pub struct Timetable {
    pub(super) plan: Plan,
    /// The times of each change, those included that a member may miss.
    times: Vec<Vec<f64>>,
}

impl Timetable {
    /// The timetable of a plan of which all members are made.
    #[must_use]
    pub fn new(plan: &Plan) -> Self {
        let mut plan = plan.clone();
        // The day's evaporation is looked up at midnight, whether it changes or not: what is due must not depend
        // on what the members drew.
        plan.regime.evaporation = Evaporation::Daily([0.0].into());
        let until = plan.horizon.days();
        let times = plan.regime.changes.iter().map(|change| match &change.timing {
            Timing::Scheduled(schedule) => schedule.between(-1.0, until),
            Timing::Triggered(_) => Vec::new(),
        });
        Self { times: times.collect(), plan }
    }

    /// Whether a plan does what this timetable knows, at its times, with the level held by a float.
    fn suits(&self, plan: &Plan) -> bool {
        let (own, regime) = (&self.plan.regime, &plan.regime);
        let top_off = &regime.top_off;
        let (refill, own_refill) =
            (top_off.reservoir.as_ref().map(|r| &r.refill), own.top_off.reservoir.as_ref().map(|r| &r.refill));
        plan.disturbances.is_empty()
            && plan.periods.is_empty()
            && regime.by_day.is_none()
            && plan.basis == self.plan.basis
            && plan.species.len() == self.plan.species.len()
            && plan.species.iter().all(|s| s.conversion.is_none())
            && Coupling::of(&plan.species) == Coupling::of(&self.plan.species)
            && plan.bands == self.plan.bands
            && top_off.float == FloatState::Works
            && top_off.gap == Volume::default()
            && own.top_off.gap == Volume::default()
            && refill == own_refill
            && regime.intrusion.is_none()
            && regime.reading.as_ref().is_none_or(|r| r.correction.is_none())
            && regime.changes.len() == own.changes.len()
            && regime.changes.iter().zip(&own.changes).zip(&self.times).all(|((c, own), times)| alike(c, own, times))
            && regime.doses.len() == own.doses.len()
            && regime.doses.iter().zip(&own.doses).all(|(d, own)| {
                d.schedule == own.schedule && d.brings.iter().map(|b| b.0).eq(own.brings.iter().map(|b| b.0))
            })
    }
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
    /// Supply without top-off and evaporation, uptake taken off \[kg/d, kg/d, amount/d\].
    pub(super) base: Vec<f64>,
    /// What a litre of top-off brings.
    pub(super) fresh: Vec<f64>,
    /// First-order loss \[1/d\]; none of water and salt.
    pub(super) loss: Vec<f64>,
    /// Whether a solute has an uptake, which would stop at zero.
    pub(super) takes: Vec<bool>,
    /// Tank water leaving \[L/d\].
    pub(super) out: f64,
    /// Kilograms of a litre of fresh water.
    pub(super) fresh_kg_per_l: f64,
    /// Flow of the float's pump \[L/d\].
    pub(super) pump: f64,
    /// The level that the float holds, the mark, and the rim \[L\].
    pub(super) level: f64,
    pub(super) mark: f64,
    pub(super) rim: f64,
    pub(super) tolerance: f64,
    /// What the top-off reservoir holds when full \[L\].
    pub(super) capacity: f64,
    pub(super) law: VolumeLaw,
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
        let Some(pump) = plan.regime.top_off.pump() else { return Ok(None) };
        if !timetable.suits(plan) {
            return Ok(None);
        }
        let law = start_law(plan)?;
        let (contents, amounts) = (contents(plan, &plan.regime)?, start_amounts(plan)?);
        let operating = plan.tank.operating.litres();
        let (level, tolerance) = (operating + plan.regime.top_off.level_offset.litres(), LEVEL_TOLERANCE * operating);
        let rim = plan.tank.rim.map_or(f64::INFINITY, Volume::litres);
        let volume = law.volume(amounts.water_kg(), amounts.salt_kg());
        let capacity = plan.regime.top_off.reservoir.as_ref().map_or(f64::INFINITY, |r| r.capacity.litres());
        let (regime, kinetics) = (&plan.regime, Kinetics::new(&plan.species)?);
        let coupling = kinetics.coupling.clone();
        let situation = Situation {
            plan,
            regime,
            law: &law,
            contents: &contents,
            day: 0.0,
            hour: 0.0,
            volume,
            reservoir_l: capacity,
            pump: Pump::Off,
            lays_down: true,
            coupling: coupling.as_ref(),
        };
        let lays_down = regime.laid_down_kg_per_d > 0.0;
        if level.max(volume) + tolerance >= rim || lays_down && plan.tank.salinity.psu() < LEAST_SALT_PSU + 1.0 {
            return Ok(None);
        }
        let force = situation.steady();
        let mut base = force.flow.supply;
        summed(coupling.as_ref(), &mut base);
        let row = |amounts: &Amounts| {
            let mut amounts = amounts.clone();
            summed(coupling.as_ref(), &mut amounts);
            amounts.row().to_vec()
        };
        base.solutes_mut().iter_mut().zip(&plan.species).for_each(|(base, species)| *base -= species.uptake_per_day);
        let changes = plan.regime.changes.iter().zip(&timetable.plan.regime.changes).map(|(change, all)| {
            let Timing::Scheduled(schedule) = &change.timing else { return Ok(None) };
            let water = &plan.waters[change.water];
            let errors = change.batch_offset_psu != 0.0 || !change.batch_errors_psu.is_empty();
            let truth = PracticalSalinity::from_psu(plan.regime.truth(water)?.psu() + change.batch_offset_psu);
            Ok(Some(MemberChange {
                missing: (change.timing != all.timing).then(|| schedule.clone()),
                litres: change.amount.of(plan.tank.operating).litres(),
                content: row(&contents[change.water]),
                errors: errors.then(|| Errors {
                    psu: change.batch_errors_psu.clone(),
                    truth,
                    water: water.clone(),
                    coupling: coupling.clone(),
                    basis: plan.basis,
                }),
            }))
        });
        let Some(changes) = changes.collect::<Result<Option<Vec<_>>, EngineError>>()? else { return Ok(None) };
        let dose = |d: &Dose| brings(d, coupling.as_ref()).iter().map(|b| b.1).collect();
        Ok(Some(Self {
            base: base.row().to_vec(),
            fresh: row(&contents[plan.regime.top_off.water]),
            loss: [0.0, 0.0].into_iter().chain(plan.species.iter().map(|s| s.removal.per_day())).collect(),
            takes: (0..plan.species.len()).map(|i| kinetics.taking.contains(&i)).collect(),
            out: force.flow.out,
            fresh_kg_per_l: plan.basis.fresh_kg_per_l(plan.tank.temperature),
            pump: pump.litres_per_day(),
            level,
            mark: operating,
            rim,
            tolerance,
            capacity,
            law,
            evaporation: plan.regime.evaporation.clone(),
            changes,
            doses: plan.regime.doses.iter().map(dose).collect(),
            amounts: row(&amounts),
            lays_down,
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
