//! The tank: waters, flows, the keeper's regime, and the exact step between events.

mod band;
mod basis;
pub mod closed;
mod costs;
mod evaporation;
mod kinetics;
mod plan;
mod regime;
mod schedule;
mod step;
mod water;
mod work;

pub use band::{Band, Variable};
pub use basis::{Basis, VolumeLaw};
pub use costs::{Costs, USUAL_WATER_IN_MIX};
pub use evaporation::{DayToDay, Evaporation};
pub use kinetics::{Kinetics, KineticsError};
pub use plan::{Conversion, Disturbance, DisturbanceWindow, Plan, Species, Tank, TankState};
pub use regime::{
    Amount, Change, Correction, Dose, Exchange, Fill, FloatState, Method, Reading, Regime, Reservoir, Side, Timing,
    TopOff, Trigger,
};
pub use schedule::{Cursor, Schedule};
pub use step::{Flow, Stepper};
pub use water::{Content, Water};
pub use work::{MOST_EVENTS, MOST_NUMBERS, MOST_STEPS, Work, refusal_of};
