//! `run`: one scenario, simulated, summed up and written out.

mod answer;
mod words;

pub use answer::RunResult;

use crate::app::{AppError, Loaded, summarise};
use crate::chart::pictures_of_run;
use crate::engine;

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
    let scenario = &loaded.scenario;
    let outcome = engine::run(&scenario.plan)?;
    let summary = summarise(loaded, &outcome);
    let start = scenario.start.to_string();
    let pictures = pictures_of_run(&scenario.plan, &outcome, &start, &scenario.view(), &summary.meanwhile);
    Ok(RunResult { outcome, summary, pictures })
}
