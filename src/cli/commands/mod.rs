//! One file a command: its arguments and what it does.

pub(crate) mod adjust;
pub(crate) mod away;
pub(crate) mod batch;
pub(crate) mod check;
pub(crate) mod choose;
pub(crate) mod compare;
pub(crate) mod completions;
pub(crate) mod convert;
pub(crate) mod correct;
pub(crate) mod drift;
pub(crate) mod ensemble;
pub(crate) mod explore;
pub(crate) mod faults;
pub(crate) mod fit;
pub(crate) mod mix_to;
pub(crate) mod new;
pub(crate) mod plan;
pub(crate) mod properties;
pub(crate) mod recipe;
pub(crate) mod rescue;
pub(crate) mod run;
pub(crate) mod schema;
pub(crate) mod sensitivity;
pub(crate) mod station;
pub(crate) mod sweep;
pub(crate) mod uncertain;
pub(crate) mod water;

use std::path::PathBuf;

use brinecast::app::{AppError, DEFAULT_SCENARIO, Folder, Loaded, load};
use clap::{Args, ValueEnum};

use crate::cli::print;

/// How answers are printed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// For people.
    #[default]
    Text,
    /// For programs.
    Json,
}

/// The scenario that a command works on, with overrides.
#[derive(Debug, Args)]
pub(crate) struct ScenarioArgs {
    /// Scenario file, or the name of a built-in one; the built-in mixed-reef where it is absent.
    scenario: Option<String>,
    /// Override a key of the scenario, as in --set change.every=10d. May be given many times.
    #[arg(long, value_name = "KEY=VALUE")]
    set: Vec<String>,
    /// Mass: water and salt are weighed; ideal: volumes add, as in hand calculation.
    #[arg(long, value_name = "mass|ideal")]
    basis: Option<String>,
}

impl ScenarioArgs {
    /// Loads it.
    pub(crate) fn load(&self) -> Result<Loaded, AppError> {
        let mut overrides = self.set.clone();
        if let Some(basis) = &self.basis {
            overrides.push(format!("basis={basis}"));
        }
        load(self.scenario.as_deref().unwrap_or(DEFAULT_SCENARIO), &overrides)
    }
}

/// Where a command writes and how it answers.
#[derive(Debug, Args)]
pub(crate) struct OutputArgs {
    /// Folder for the files; where it is absent, a folder in output/ for this scenario and these overrides.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// How the answer is printed.
    #[arg(long, value_enum, default_value_t)]
    pub(crate) format: Format,
    /// Print nothing but the answer: no progress, no cautions.
    #[arg(long, short)]
    pub(crate) quiet: bool,
}

impl OutputArgs {
    /// The folder for results: the one that was named, or `place`.
    pub(crate) fn folder(&self, place: PathBuf) -> Result<Folder, AppError> {
        Folder::open(&self.out.clone().unwrap_or(place))
    }

    /// Prints the answer in the form that was asked for.
    pub(crate) fn answer(&self, json: &str, text: &str) {
        match self.format {
            Format::Json => print::answer(json),
            Format::Text if self.quiet => print::answer(&print::without_cautions(&print::wrapped(text))),
            Format::Text => print::answer(&print::wrapped(text)),
        }
    }

    /// Finishes the folder of a command, and says what was written and where.
    pub(crate) fn finish(&self, command: &str, folder: Folder, checksum: Option<&str>) -> Result<(), AppError> {
        let path = folder.path().to_owned();
        let files = folder.finish(command, checksum)?;
        if !self.quiet {
            print::note(&format!("{files} files written to {}", path.display()));
        }
        Ok(())
    }
}
