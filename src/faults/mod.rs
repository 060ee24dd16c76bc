//! What goes wrong, one file a kind of fault.
//!
//! A fault bends the keeper's regime while it is on, or strikes the tank when it begins. Its usual size
//! stands in its file with where the number comes from; `times` makes it larger or smaller.

mod batch_cold;
mod batch_off;
mod dead_animal;
mod disinfectant;
mod double_feed;
mod filled_to_mark;
mod float_creeps;
mod leak;
mod meter_bias;
mod meter_brine;
mod meter_pair;
mod meter_slope;
mod missed_changes;
mod power_cut;
mod purifier_spent;
mod reservoir_dry;
mod reservoir_salt;
mod reservoir_tap;
mod return_pump_off;
mod siphon_back;
mod stuck_open;
mod stuck_open_unlimited;
mod stuck_shut;
mod supply_empty;
mod top_off_on_change;
mod topped_with_salt;
mod unequal_pumps;
mod waste_blocked;
mod wet_skimming;
mod words;

use std::sync::Arc;

use crate::instruments::Meter;
use crate::model::{Amounts, Disturbance, DisturbanceWindow, Plan, Regime, TankState};
use crate::results::Harm;
use crate::solutes::View;

/// Something that can go wrong on a tank.
pub trait Fault: std::fmt::Debug + Send + Sync {
    /// Its name in files and on the command line.
    fn key(&self) -> &'static str;
    /// Its name for people.
    fn title(&self) -> &'static str;
    /// How large it is, in words and in the units of a view.
    fn size(&self, plan: &Plan, view: &View) -> String;
    /// Why it cannot happen on this tank.
    fn cannot(&self, _plan: &Plan) -> Option<&'static str> {
        None
    }
    /// Adds what it needs to the plan: a water that is not there.
    fn prepare(&self, _plan: &mut Plan) {}
    /// Changes the regime while it is on.
    fn modify(&self, _plan: &Plan, _regime: &mut Regime) {}
    /// What it adds to the tank when it begins: water kg, salt kg, then the solutes.
    fn impulse(&self, _plan: &Plan, _tank: &TankState<'_>) -> Option<Amounts> {
        None
    }
    /// When it is on, given when it begins and ends; each window bends once more.
    fn windows(&self, _plan: &Plan, begin: f64, end: f64) -> Vec<(f64, f64)> {
        vec![(begin, end)]
    }
    /// How fast water comes in that should not \[L/d\], where that is what it does.
    fn inflow_l_per_d(&self, _plan: &Plan) -> Option<f64> {
        None
    }
    /// What can hold it in bounds besides looking more often.
    fn caps(&self) -> &'static [Cap] {
        &[]
    }
    /// What it does to the animals in a measure that no band of the plan has, over its days.
    fn harm(&self, _plan: &Plan, _days: f64, _view: &View) -> Option<Harm> {
        None
    }
    /// What anybody sees at the next look, whatever the level does.
    fn shows(&self) -> Option<&'static str> {
        None
    }
    /// What the balance of water and solutes does not show.
    fn note(&self, _plan: &Plan, _view: &View) -> Option<String> {
        None
    }
}

/// A device or size that holds a fault in bounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cap {
    /// A reservoir that holds less.
    SmallerReservoir,
    /// A limit on how long the pump may run.
    RunTimeLimit,
    /// A second float above the first.
    SecondFloat,
}

/// Every fault, `times` its usual size.
#[must_use]
pub fn all(times: f64) -> Vec<Arc<dyn Fault>> {
    vec![
        Arc::new(stuck_open::StuckOpen),
        Arc::new(stuck_open_unlimited::StuckOpenUnlimited),
        Arc::new(stuck_shut::StuckShut),
        Arc::new(reservoir_dry::ReservoirDry),
        Arc::new(reservoir_salt::ReservoirSalt),
        Arc::new(reservoir_tap::ReservoirTap),
        Arc::new(siphon_back::SiphonBack),
        Arc::new(float_creeps::FloatCreeps::Up),
        Arc::new(float_creeps::FloatCreeps::Down),
        Arc::new(top_off_on_change::TopOffOnChange),
        Arc::new(topped_with_salt::ToppedWithSalt),
        Arc::new(filled_to_mark::FilledToMark),
        Arc::new(batch_off::BatchOff::strong(times)),
        Arc::new(batch_off::BatchOff::weak(times)),
        Arc::new(batch_cold::BatchCold(times)),
        Arc::new(batch_off::BatchOff::unstirred(times)),
        Arc::new(batch_off::BatchOff::open_store(times)),
        Arc::new(unequal_pumps::UnequalPumps(times)),
        Arc::new(waste_blocked::WasteBlocked),
        Arc::new(supply_empty::SupplyEmpty),
        Arc::new(missed_changes::MissedChanges),
        Arc::new(double_feed::DoubleFeed(times)),
        Arc::new(dead_animal::DeadAnimal(times)),
        Arc::new(wet_skimming::WetSkimming(times)),
        Arc::new(leak::Leak(times)),
        Arc::new(meter_bias::MeterBias(times)),
        Arc::new(meter_slope::MeterSlope(times)),
        Arc::new(meter_pair::MeterPair),
        Arc::new(meter_brine::MeterBrine),
        Arc::new(purifier_spent::PurifierSpent),
        Arc::new(disinfectant::Disinfectant(times)),
        Arc::new(power_cut::PowerCut),
        Arc::new(return_pump_off::ReturnPumpOff),
    ]
}

/// Puts a fault into a plan, from one time to another \[d from the start\].
pub fn put(fault: &Arc<dyn Fault>, plan: &mut Plan, begin: f64, end: f64) {
    fault.prepare(plan);
    for (begin, end) in fault.windows(plan, begin, end) {
        plan.disturbances.push(DisturbanceWindow { what: Arc::new(On(fault.clone())), begin, end });
    }
}

/// A fault as the engine sees it.
#[derive(Debug)]
struct On(Arc<dyn Fault>);

impl Disturbance for On {
    fn key(&self) -> &'static str {
        self.0.key()
    }
    fn modify(&self, plan: &Plan, regime: &mut Regime) {
        self.0.modify(plan, regime);
    }
    fn impulse(&self, plan: &Plan, tank: &TankState<'_>) -> Option<Amounts> {
        self.0.impulse(plan, tank)
    }
}

fn no_float(plan: &Plan) -> Option<&'static str> {
    (!plan.regime.top_off.can_stick()).then_some("there is no float top-off")
}

/// Flow of the float's pump \[L/d\].
fn pump_l_per_d(plan: &Plan) -> Option<f64> {
    plan.regime.top_off.pump().map(crate::units::VolumeRate::litres_per_day)
}

fn no_top_off(plan: &Plan) -> Option<&'static str> {
    (!plan.regime.top_off.restores_level()).then_some("there is no top-off")
}

fn not_by_hand(plan: &Plan) -> Option<&'static str> {
    plan.regime.top_off.by_hand().is_none().then_some("it is not topped off by hand")
}

fn no_changes(plan: &Plan) -> Option<&'static str> {
    plan.regime.changes.is_empty().then_some("there are no changes")
}

/// Reads, and mixes the new water of every change, with another meter.
fn mix_by<M: Meter + Clone + 'static>(plan: &Plan, regime: &mut Regime, meter: &Arc<M>) {
    for change in &mut regime.changes {
        let water = &plan.waters[change.water];
        // A water that is mixed by the meter follows the regime's meter by itself.
        if !water.mixed_by_meter
            && let Ok(truth) = meter.truth(water.salinity, water.temperature)
        {
            change.batch_offset_psu += truth.psu() - water.salinity.psu();
        }
    }
    regime.meter = meter.clone();
}
