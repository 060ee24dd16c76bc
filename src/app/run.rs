//! `run`: one scenario, simulated, summed up and written out.

use super::{AppError, Folder, Loaded, summarise};
use crate::chart::{Picture, pictures_of_run};
use crate::engine::{self, Outcome};
use crate::export;
use crate::results::Summary;
use crate::solutes::Solute;

/// A run with its answer and pictures.
#[derive(Debug)]
pub struct RunResult {
    /// What was recorded.
    pub outcome: Outcome,
    /// The answer in numbers.
    pub summary: Summary,
    /// Pictures with their file names.
    pub pictures: Vec<(String, Picture)>,
}

/// Simulates a scenario.
pub fn run(loaded: &Loaded) -> Result<RunResult, AppError> {
    let scenario = &loaded.scenario;
    let outcome = engine::run(&scenario.plan)?;
    let summary = summarise(loaded, &outcome);
    let pictures = pictures_of_run(&scenario.plan, &outcome, &scenario.start.to_string(), &scenario.view());
    Ok(RunResult { outcome, summary, pictures })
}

impl RunResult {
    /// Writes tables, summary, report and pictures.
    pub fn write(&self, loaded: &Loaded, folder: &Folder) -> Result<(), AppError> {
        let solutes: Vec<Solute> = loaded.scenario.plan.species.iter().map(|s| s.solute.clone()).collect();
        folder.write("trace.csv", &export::trace_csv(&self.outcome.trace, &solutes)?)?;
        folder.write("events.csv", &export::events_csv(&self.outcome.events)?)?;
        folder.write("ledger.csv", &export::ledger_csv(&self.outcome.ledger, &solutes)?)?;
        folder.write("summary.json", self.json()?.as_bytes())?;
        folder.write("report.html", super::report::run_html(loaded, self)?.as_bytes())?;
        folder.write_pictures(&self.pictures)
    }

    /// The summary as JSON text.
    pub fn json(&self) -> Result<String, AppError> {
        super::to_json(&self.summary)
    }
}
