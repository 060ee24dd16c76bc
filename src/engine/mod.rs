//! Event queue, events and the run of one plan. Pure: no file, no terminal, no wall clock.

mod crossings;
mod error;
mod event_queue;
mod events;
mod flows;
mod going_on;
mod grid;
mod ledger_interval;
mod level;
mod look;
mod member_batch;
mod observe;
mod periods;
mod reach;
mod recorder;
mod root_events;
mod settle;
mod settled_cycle;
mod settled_year;
mod simulation;
mod statistics;
mod summarise;
mod totals;
mod waters;

pub use crossings::Crossings;
pub use error::EngineError;
pub use grid::OutputGrid;
pub use member_batch::{Entrants, MemberBatch, Timetable};
pub use observe::{Nothing, Observer, Row, Segment};
pub use recorder::Recorder;
pub use settle::settle;
pub use settled_cycle::SettleError;
pub use simulation::Simulation;
pub use statistics::{Statistic, Statistics};
pub use summarise::{Outcome, run, run_on};
pub use totals::Tally;
