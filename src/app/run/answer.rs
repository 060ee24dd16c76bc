//! What `run` answers, and the files that it makes.

use super::words::text;
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::engine::Outcome;
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

impl Answer for RunResult {
    type Of = Loaded;
    type Data = Summary;

    const COMMAND: &'static str = "run";

    fn data(&self) -> &Summary {
        &self.summary
    }

    fn text(&self, of: &Loaded, width: usize) -> String {
        text(&self.summary, &of.scenario.title, &of.scenario.view(), width)
    }

    fn cautions(&self) -> &[String] {
        &self.summary.cautions
    }

    fn tables(&self, of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        let solutes: Vec<Solute> = of.scenario.plan.species.iter().map(|s| s.solute.clone()).collect();
        Ok(vec![
            ("trace.csv".into(), export::trace_csv(&self.outcome.trace, &solutes)?),
            ("events.csv".into(), export::events_csv(&self.outcome.events)?),
            ("ledger.csv".into(), export::ledger_csv(&self.outcome.ledger, &solutes)?),
        ])
    }

    fn page(&self, of: &Loaded) -> Result<Option<(String, String)>, AppError> {
        Ok(Some(("report.html".into(), crate::app::report::run_html(of, self)?)))
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }

    fn json_name() -> String {
        "summary.json".into()
    }
}
