//! `run`: simulate a scenario.

use std::cell::Cell;
use std::path::PathBuf;

use brinecast::app::{self, AppError};
use clap::Args;

use super::many::each;
use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;

/// Example: brinecast run mixed-reef --set change.every=10d
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast run mixed-reef --set change.every=10d")]
pub(crate) struct Run {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// More of them: each has its own files, and the answer is a table over them.
    #[arg(value_name = "SCENARIO")]
    more: Vec<String>,
    /// Something that goes wrong, by its key as `brinecast faults` lists them. May be given many times, each with its --from.
    #[arg(long, value_name = "KEY")]
    fault: Vec<String>,
    /// When the fault begins: "30 d" from the start, or a date; without it, the fault is refused.
    #[arg(long, value_name = "MOMENT", requires = "fault")]
    from: Vec<String>,
    /// When it ends, the same way; without it, at the end of the run.
    #[arg(long, value_name = "MOMENT", requires = "from")]
    to: Vec<String>,
    /// How many times its usual size it is: once for all faults, or one for each.
    #[arg(long, value_name = "NUMBER", requires = "fault")]
    times: Vec<f64>,
    /// Write what the tank has come to into a file, for a run that goes on; without it, no such file is written.
    #[arg(long, value_name = "FILE")]
    write_state: Option<PathBuf>,
    /// Go on from the state that another run wrote, to the end that the scenario says; without it, begin as the scenario does.
    #[arg(long, value_name = "FILE")]
    from_state: Option<PathBuf>,
    #[command(flatten)]
    output: OutputArgs,
    /// End with exit code 1 where a band is broken.
    #[arg(long)]
    check: bool,
}

impl Run {
    /// The faults as keys of the scenario.
    fn faults(&self) -> Result<Vec<String>, AppError> {
        let (faults, ends) = (self.fault.len(), self.to.len());
        let sizes = self.times.len();
        if self.from.len() != faults || (ends != 0 && ends != faults) || (sizes > 1 && sizes != faults) {
            return Err(AppError::Usage(
                "each --fault needs its own --from, and a --to or a --times for each or for none\n  = help: example: --fault top-off-stuck-shut --from \"30 d\" --to \"37 d\"; brinecast list faults names them".into(),
            ));
        }
        let mut sets = Vec::new();
        for (k, (fault, at)) in self.fault.iter().zip(&self.from).enumerate() {
            let key = format!("faults.asked_{}", k + 1);
            sets.extend([format!("{key}.fault={fault}"), format!("{key}.from={at}")]);
            sets.extend(self.to.get(k).map(|until| format!("{key}.to={until}")));
            let times = self.times.get(k).or(self.times.first());
            sets.extend(times.map(|times| format!("{key}.times={times}")));
        }
        Ok(sets)
    }

    /// Several scenarios.
    fn many(&self) -> Result<Exit, AppError> {
        if self.write_state.is_some() || self.from_state.is_some() || self.scenario.lab.is_some() {
            return Err(AppError::Usage(
                "--write-state, --from-state and --lab are for one scenario: run it by itself".into(),
            ));
        }
        let faults = self.faults()?;
        let kept = Cell::new(true);
        let files = self.scenario.and(&self.more);
        let load = |file: &str| self.scenario.load_other(file, &faults);
        let exit = each(&files, &self.output, load, app::run, app::RUNS, |result, loaded| {
            kept.set(kept.get() && result.summary.bands_kept);
            app::row_of_run(result, loaded)
        });
        Ok(if self.check && !kept.get() && exit == Exit::Fine { Exit::No } else { exit })
    }

    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        if !self.more.is_empty() {
            return self.many();
        }
        let loaded = self.scenario.load_with(&self.faults()?)?;
        let folder = self.output.folder(loaded.place())?;
        let result = match &self.from_state {
            Some(path) => app::run_on(&loaded, &app::read_state(path)?)?,
            None => app::run(&loaded)?,
        };
        if let Some(path) = &self.write_state {
            let state = app::to_json(&result.outcome.state)?;
            match &folder {
                Some(folder) => folder.write_beside(path, state.as_bytes())?,
                None => app::write_file(path, state.as_bytes())?,
            }
        }
        self.output.deliver(&result, &loaded, folder, Some(&loaded.checksum))?;
        Ok(if self.check && !result.summary.bands_kept { Exit::No } else { Exit::Fine })
    }
}
