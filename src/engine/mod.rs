//! Clock, events and the run of one plan. Pure: no file, no terminal, no wall clock.

mod acts;
mod books;
mod clock;
mod crossings;
mod error;
mod flows;
mod grid;
mod lanes;
mod level;
mod observe;
mod settle;
mod simulation;
mod summarise;
mod totals;
mod turning;
mod watch;
mod waters;

pub use crossings::Crossings;
pub use error::EngineError;
pub use grid::Grid;
pub use lanes::{Entrants, Lanes, Timetable};
pub use observe::{Nothing, Observer, Recorder, Row, Segment};
pub use settle::{SettleError, settle};
pub use simulation::Simulation;
pub use summarise::{Outcome, run};
pub use totals::Tally;
pub use watch::{Statistics, Watch};
