//! `sweep`: one or two keys over ranges.

use brinecast::app::{AppError, sweep};
use clap::Args;

use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use crate::cli::progress::watched;

/// Example: brinecast sweep heavy-fish-load --over change.every=7d..56d:8 --over change.amount=5%..50%:10
#[derive(Debug, Args)]
#[command(
    after_help = "Example: brinecast sweep mixed-reef --over change.every=3d..28d:6 --over change.amount=5%..50%:10 --measure settled.nitrate.peak"
)]
pub(crate) struct Sweep {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// A key and its values: KEY=FROM..TO:COUNT or KEY=A,B,C; once or twice.
    #[arg(long, value_name = "KEY=RANGE", required = true)]
    over: Vec<String>,
    /// What is measured: nitrate.peak, settled.salinity.mean, outside.nitrate, litres, salt, half-life; many times.
    #[arg(long, value_name = "MEASURE")]
    measure: Vec<String>,
    #[command(flatten)]
    output: OutputArgs,
}

impl Sweep {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let loaded = self.scenario.load()?;
        let folder = self.output.folder(loaded.place())?;
        let result = watched(self.output.quiet(), |going| sweep(&loaded, &self.over, &self.measure, going))?;
        self.output.deliver(&result, &loaded, folder, Some(&loaded.checksum))?;
        Ok(Exit::Fine)
    }
}
