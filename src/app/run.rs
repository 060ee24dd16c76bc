//! `run`: one scenario, simulated, summed up and written out.

use std::path::PathBuf;

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
    /// The summary as JSON text.
    pub fn json(&self) -> Result<String, AppError> {
        super::to_json(&self.summary)
    }
}

/// Writes tables, summary and pictures of a run; gives the paths written.
pub fn write_run(loaded: &Loaded, result: &RunResult, folder: &Folder) -> Result<Vec<PathBuf>, AppError> {
    let solutes: Vec<Solute> = loaded.scenario.plan.species.iter().map(|s| s.solute.clone()).collect();
    let outcome = &result.outcome;
    let mut files: Vec<(String, Vec<u8>)> = vec![
        ("trace.csv".into(), export::trace_csv(&outcome.trace, &solutes)?),
        ("events.csv".into(), export::events_csv(&outcome.events)?),
        ("ledger.csv".into(), export::ledger_csv(&outcome.ledger, &solutes)?),
        ("summary.json".into(), result.json()?.into_bytes()),
        ("report.html".into(), super::report::run_html(loaded, result)?.into_bytes()),
    ];
    for (name, picture) in &result.pictures {
        files.push((format!("{name}.svg"), export::svg(picture)?.into_bytes()));
        files.push((format!("{name}.png"), export::png(picture)?));
    }
    files.iter().map(|(name, bytes)| folder.write(name, bytes)).collect()
}
