//! `run`: one scenario, simulated, summed up and written out.

mod answer;
mod pictures;
mod words;

pub use answer::RunResult;
pub(in crate::app) use words::TOLD;

use std::path::Path;

use crate::app::summary::{Advice, summarise_with};
use crate::app::{AppError, Loaded, read_text};
use crate::engine::{self, Outcome};
use crate::results::RunState;
use crate::scenario::MAX_BYTES;

/// Simulates a scenario.
///
/// ```
/// use brinecast::app::{Answer, load, run};
/// let loaded = load("mixed-reef", &["run=30 d".into()])?;
/// let result = run(&loaded)?;
/// assert!(result.text(&loaded, 80).contains("every band is kept") || !result.summary.bands_kept);
/// # Ok::<(), brinecast::app::AppError>(())
/// ```
pub fn run(loaded: &Loaded) -> Result<RunResult, AppError> {
    run_with(loaded, Advice::Wanted)
}

/// The same, with advice or without.
pub(in crate::app) fn run_with(loaded: &Loaded, advice: Advice) -> Result<RunResult, AppError> {
    Ok(summed_up(loaded, engine::run(&loaded.scenario.plan)?, advice))
}

/// Simulates a scenario from the state that another run left on.
///
/// # Errors
///
/// [`AppError`] where the state is of another tank.
pub fn run_on(loaded: &Loaded, state: &RunState) -> Result<RunResult, AppError> {
    Ok(summed_up(loaded, engine::run_on(&loaded.scenario.plan, state)?, Advice::Wanted))
}

/// Reads the state that a run wrote.
///
/// # Errors
///
/// [`AppError`] where there is no such file, or it is no state.
pub fn read_state(path: &Path) -> Result<RunState, AppError> {
    let text = read_text(path, MAX_BYTES)?;
    let wrong = |why: String| {
        AppError::Usage(format!(
            "{} is no state of a run: {why}\n  = help: write one with brinecast run my-tank.toml --write-state tank-state.json",
            path.display()
        ))
    };
    let state: RunState = serde_json::from_str(&text).map_err(|e| wrong(e.to_string()))?;
    state.wrong().map_or(Ok(state.clone()), |why| Err(wrong(why)))
}

fn summed_up(loaded: &Loaded, outcome: Outcome, advice: Advice) -> RunResult {
    let summary = summarise_with(loaded, &outcome, advice);
    let pictures = pictures::pictures(loaded, &outcome, &summary);
    RunResult { outcome, summary, pictures }
}
