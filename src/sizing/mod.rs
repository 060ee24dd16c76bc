//! Direct calculators: batch, dose, vessel, purifier, heat, timetable, store, mix-to.

mod acclimation;
mod adjust;
mod animals;
mod batch;
mod correct;
mod gas_exchange;
mod heating;
mod mix;
mod mix_to;
mod purifier;
mod rescue;
mod scoop;
mod staged;
mod station;
mod station_due;
mod station_run;
mod station_shortage;
mod station_van;
mod station_vessels;
mod station_work;
mod store;
mod supplement;
mod timetable;
mod treatment;
mod van;
mod vessel;

pub use acclimation::{Drip, drip};
pub use adjust::{Adjustment, adjust};
pub use animals::{ANIMALS, Animals, animals};
pub use batch::{Batch, BatchError, Heel, batch_of_finished, batch_of_fresh};
pub use correct::{By, CorrectDay, CorrectError, CorrectRequest, correct};
pub use gas_exchange::{FRESH_MIX_UATM, GasExchange, RELEASE_PH_NBS, Settling, Stirring};
pub use heating::{HeatError, Heating, heat_energy};
pub use mix::{LabelBasis, MixError, SaltMix};
pub use mix_to::{MixTo, MixToError, mix_to};
pub use purifier::{Purifier, flow_at_temperature};
pub use rescue::{
    LONGEST_RESCUE_D, NewWater, Polluted, RescueDay, Rung, day_by_day, ladder, reach_of, share_left, waiting,
};
pub use scoop::{Scoop, Scoops};
pub use staged::{DoseState, DoseUncertainty, StagedPlan};
pub use station::{
    BatchMade, ChangeNeed, ServedOutcome, ServedTank, Station, StationBooks, StationOutcome, StoreLevel, VesselUse,
    usual_emergency_l,
};
pub use station_due::assumed_reservoir;
pub use station_run::run_station;
pub use station_shortage::{Shortage, Why};
pub use store::{Lid, StoredWater, stored};
pub use supplement::supplement;
pub use timetable::{Step, Task, timetable};
pub(crate) use treatment::medicines;
pub use treatment::{Phase, Treatment, TreatmentDay, treatment};
pub use van::{Trip, TripStop, Van, Visit};
pub use vessel::{PLAIN_SIZES, Vessel, VesselChoice, choose_vessel, smallest_holding};
