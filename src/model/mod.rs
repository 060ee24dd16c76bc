//! The tank: waters, flows, the keeper's regime, and the exact step between events.

mod amounts;
mod band;
mod basis;
mod builder;
mod check;
pub mod closed;
mod costs;
mod evaporation;
mod kinetics;
pub mod limits;
mod listed;
mod losses;
mod plan;
mod regime;
mod schedule;
mod step;
mod top_off;
mod water;
mod work;

pub use amounts::{Amounts, BEFORE_SOLUTES, Component};
pub use band::{Band, Variable};
pub use basis::{Basis, VolumeLaw};
pub use builder::PlanBuilder;
pub use check::PlanError;
pub use costs::{Costs, USUAL_WATER_IN_MIX};
pub use evaporation::{ByDay, DayToDay, Evaporation};
pub use kinetics::{Coupling, Kinetics, KineticsError};
pub use listed::{Id, Listed, SoluteId, WaterId};
pub use losses::{LEAK, LOSSES, Loss, Outflow, SALT_CREEP, SKIMMATE};
pub use plan::{Conversion, Disturbance, DisturbanceWindow, Period, Ph, Plan, Species, Stretch, Tank, TankState};
pub use regime::{Amount, Change, Correction, Dose, Dosing, Exchange, Fill, Reading, Regime, Side, Timing, Trigger};
pub use schedule::{Cursor, Schedule};
pub use step::{Flow, Stepper};
pub use top_off::{FloatState, Reservoir, TopOff, TopOffKind};
pub use water::Water;
pub use work::{MOST_EVENTS, MOST_NUMBERS, MOST_STEPS, Work, refusal_of};
