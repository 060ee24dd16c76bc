//! `now`: where the tank is, and what to do next.

use std::path::PathBuf;

use super::log::{LogArgs, Reads};
use super::water::{percent, span_d};
use super::{OutputArgs, ScenarioArgs};
use crate::cli::exit::Exit;
use brinecast::app::{AppError, NowRequest, instant, now, state_of_file};
use clap::Args;

/// How often a log that is watched is looked at.
const LOOKS_AGAIN: std::time::Duration = std::time::Duration::from_millis(500);

/// Example: brinecast now my-reef.toml --log my-log.csv
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast now my-reef.toml --log my-log.csv --span \"60 d\"")]
pub(crate) struct Now {
    #[command(flatten)]
    scenario: ScenarioArgs,
    /// The log, as `fit` reads it.
    #[arg(long, value_name = "FILE")]
    log: PathBuf,
    #[command(flatten)]
    reading: LogArgs,
    /// When you read, where you top off by hand; without it, what fits better.
    #[arg(long, value_enum)]
    read_when: Option<Reads>,
    /// The moment that is asked about, as in 2026-03-14 or "2026-03-14 18:00"; without it, the last row of the log.
    #[arg(long, value_name = "DATE")]
    at: Option<String>,
    /// How far to look ahead.
    #[arg(long, value_name = "TIME", default_value = "30 d")]
    span: String,
    /// Standard deviation of a test kit, relative.
    #[arg(long, value_name = "PERCENT", default_value = "15 %")]
    kit_error: String,
    /// Members of the look ahead.
    #[arg(long, value_name = "N", default_value_t = 400)]
    members: u64,
    /// Random seed.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Answer again whenever the log grows, until stopped by Ctrl-C.
    #[arg(long)]
    watch: bool,
    #[command(flatten)]
    output: OutputArgs,
}

impl Now {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let mut seen = state_of_file(&self.log);
        self.answer()?;
        if !self.watch {
            return Ok(Exit::Fine);
        }
        loop {
            std::thread::sleep(LOOKS_AGAIN);
            let last = state_of_file(&self.log);
            if last != seen {
                seen = last;
                // A log that is half written is read again when it is whole.
                if let Err(error) = self.answer() {
                    crate::cli::print::error(&error);
                }
            }
        }
    }

    fn answer(&self) -> Result<(), AppError> {
        let loaded = self.scenario.load()?;
        if !(20..=20_000).contains(&self.members) {
            return Err(AppError::Usage(format!("--members {}: allowed are 20 to 20000", self.members)));
        }
        let at = self.at.as_deref().map(|text| {
            instant(text).ok_or_else(|| {
                AppError::Usage(format!(
                    "--at {text}: write a date, as in --at 2026-03-14 or --at \"2026-03-14 18:00\""
                ))
            })
        });
        let request = NowRequest {
            log: self.log.clone(),
            reading: self.reading.reading(loaded.scenario.units.gallon())?,
            kit: percent("kit-error", &self.kit_error)?,
            jug: self.read_when.map(Reads::jug),
            at: at.transpose()?,
            ahead_d: span_d("span", &self.span)?,
            members: self.members,
            seed: self.seed,
        };
        let folder = self.output.folder(loaded.place())?;
        let result = now(&loaded, &request)?;
        self.output.deliver(&result, &loaded, folder, Some(&loaded.checksum))
    }
}
