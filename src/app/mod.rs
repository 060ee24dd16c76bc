//! The use cases that both front ends share; the only reader and writer of files.

mod acclimate;
mod across;
mod adjust;
mod answer;
mod away;
mod batch;
mod builtin;
mod chemistry;
mod choose;
mod compare;
mod convert;
mod correct;
mod dated;
mod drift;
mod edges;
mod ensemble;
mod error;
mod explore;
mod faults;
mod files;
mod find;
mod fit;
mod lab;
mod load;
mod log;
mod log_check;
mod members;
mod meter_scale;
mod mix_to;
mod moment;
mod now;
mod passing;
mod plan;
mod properties;
mod recipe;
mod remedies;
mod report;
mod rescue;
mod run;
mod schemas;
mod sensitivity;
mod series_file;
mod settled_words;
mod solve;
mod station;
mod summary;
mod sweep;
mod treat;
mod verdict;
mod water;

pub use acclimate::{AcclimateAnswer, AcclimateRequest, acclimate};
pub use across::{PLANS, RUNS, TableRow, over_them, row_of_plan, row_of_run};
pub use adjust::{AdjustAnswer, AdjustRequest, adjust};
pub use answer::Answer;
pub use away::{AwayAnswer, AwayEvent, AwayRemedy, AwayRequest, AwayResult, ReservoirLine, away};
pub use batch::{
    AirAnswer, BatchAmount, BatchAnswer, BatchRequest, ClockAnswer, MixAnswer, StoreAnswer, TaskAnswer, TopOffOfCard,
    VesselAnswer, batch, batch_card,
};
pub use builtin::{BUILT_IN, DEFAULT_SCENARIO, built_in};
pub use choose::{ChooseRequest, ChooseResult, Least, choose};
pub use compare::{CompareResult, UnderRequest, compare};
pub use convert::{ConvertAnswer, Converted, convert, convert_toxic};
pub use correct::{CorrectAnswer, CorrectLine, correct};
pub use drift::{DriftAnswer, DriftRequest, DriftResult, DriftWay, LogAnswer, TestedAnswer, drift};
pub use ensemble::{EnsembleRequest, EnsembleResult, ensemble, merge};
pub use error::AppError;
pub use explore::{
    Cells, Control, ExploreAnswer, ExploreRequest, FaultSwitch, Figure, Question, TAKE, address_of, explore, questions,
    starting_points, take,
};
pub use faults::{FaultsRequest, FaultsResult, faults};
pub use files::{Folder, place_of, read_text, state_of_file, write_file};
pub use find::{KeyAnswer, KeysAnswer, LISTS, ListAnswer, ListLine, keys, list, show};
pub use fit::{ExplanationLine, FitAnswer, FitLine, FitRequest, FitResult, Outlier, Wanted, fit};
pub use lab::{FromLab, from_lab};
pub use load::{Loaded, Varying, load, load_text};
pub use log::{DateOrder, LogBegin, LogReading, TankLog, UnderstoodColumn, read_tank_log, thinned};
pub use log_check::{LogCheckAnswer, LogCheckResult, Rebased, log_check};
pub use meter_scale::MeterScale;
pub use mix_to::{MixToAnswer, MixToLine, MixToRequest, mix_to};
pub use moment::{days_after, instant};
pub use now::{
    AfterIt, LastReading, Leaves, Misfit, NextReading, NowAction, NowAnswer, NowQuantity, NowRequest, NowResult, now,
};
pub use plan::{PlanRequest, PlanResult, plan};
pub use properties::{PropertiesAnswer, PropertyRow, properties};
pub use recipe::{NextBatch, RecipeAnswer, RecipeResult, StrengthChange, read_batch_log, recipe};
pub use rescue::{RescueAnswer, RescueDayLine, RescueRequest, RescueRung, RescueWait, rescue};
pub use run::{RunResult, read_state, run, run_on};
pub use schemas::{WITH_SCHEMA, answer_schema};
pub use sensitivity::{SensitivityResult, sensitivity};
pub use solve::{SolveAnswer, SolveResult, SolvedValue, solve};
pub use station::{LoadedStation, StationRequest, StationResult, is_built_in_station, load_station, station};
pub use summary::summarise;
pub use sweep::{SweepResult, sweep};
pub use treat::{MedicineLine, TreatAnswer, TreatLine, treat};

/// Refuses runs that are too much together, before any of them is begun.
fn within_reach(runs: impl IntoIterator<Item = (crate::model::Work, f64)>) -> Result<(), AppError> {
    crate::model::refusal_of(runs).map_or(Ok(()), |why| Err(AppError::Usage(why)))
}

/// A result as JSON text, for a file or a screen.
pub fn to_json(result: &impl serde::Serialize) -> Result<String, AppError> {
    let text = serde_json::to_string_pretty(result).map_err(|e| AppError::Usage(e.to_string()))?;
    Ok(text + "\n")
}

/// An answer as one line of JSON, for lists of answers.
fn to_json_line(result: &impl serde::Serialize) -> Result<String, AppError> {
    serde_json::to_string(result).map_err(|e| AppError::Usage(e.to_string()))
}
