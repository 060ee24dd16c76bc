//! `run`: one scenario, simulated, summed up and written out.

mod answer;
mod words;

pub use answer::RunResult;

use crate::app::{AppError, Loaded, summarise};
use crate::chart::pictures_of_run;
use crate::engine;

/// Simulates a scenario.
pub fn run(loaded: &Loaded) -> Result<RunResult, AppError> {
    let scenario = &loaded.scenario;
    let outcome = engine::run(&scenario.plan)?;
    let summary = summarise(loaded, &outcome);
    let pictures = pictures_of_run(&scenario.plan, &outcome, &scenario.start.to_string(), &scenario.view());
    Ok(RunResult { outcome, summary, pictures })
}
