//! Plain data that runs and studies produce. No behaviour beyond summaries.

mod calendar;
mod card;
mod cause;
mod choice;
mod comparison;
mod ensemble;
mod faults;
pub mod labelled;
mod ledger;
mod report;
mod run_state;
mod sensitivity;
mod settled;
mod station;
mod summary;
mod sweep;
mod trace;
mod warning;

pub use calendar::{ShoppingLine, WorkItem, WorkPlan};
pub use card::{Card, CardPart};
pub use cause::Cause;
pub use choice::{Candidate, Choice, KeptChance, Marginal, WorthOfReading};
pub use comparison::{Comparison, ComparisonRow, UnderUncertainty};
pub use ensemble::{BandChance, Ensemble, EnsembleQuantity};
pub use faults::{CapReport, FaultEffect, FaultReport, Faults, Harm, Sign};
pub use ledger::Ledger;
pub use report::{
    Action, Report, ReportPart, ReportSection, ReportTable, Way, as_sentence, capitalised, spoken, spoken_first,
};
pub use run_state::{RunState, SoluteState};
pub use sensitivity::{InputSensitivity, MeasureSensitivity, Sensitivity};
pub use settled::{Settled, SettledSolute};
pub use station::{
    BatchLine, LevelLine, PurifierUse, Round, RoundStop, SaltStoreLine, ShortageChance, SizeLine, StationAnswer,
    TankLine, TripLine, UnmetLine, WithoutSupply, YearLine,
};
pub use summary::{Assumed, BandReport, Drift, DriftPer, Meanwhile, Span, Summary, Totals};
pub use sweep::Sweep;
pub use trace::{EventRecord, Trace};
pub use warning::{Caution, Warning};
