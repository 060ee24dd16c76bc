//! One file a command: its arguments and what it does.

pub(crate) mod acclimate;
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
pub(crate) mod find;
pub(crate) mod fit;
pub(crate) mod guide;
pub(crate) mod log;
mod many;
pub(crate) mod mix_to;
pub(crate) mod new;
pub(crate) mod now;
pub(crate) mod plan;
pub(crate) mod properties;
pub(crate) mod recipe;
pub(crate) mod rescue;
pub(crate) mod run;
pub(crate) mod schema;
pub(crate) mod sensitivity;
pub(crate) mod solve;
pub(crate) mod station;
pub(crate) mod sweep;
pub(crate) mod treat;
pub(crate) mod uncertain;
pub(crate) mod water;

use std::path::PathBuf;

use brinecast::app::{Answer, AppError, DEFAULT_SCENARIO, Folder, Loaded, from_lab, load};
use brinecast::export::{Detail, terminal};
use brinecast::results::Report;
use brinecast::units::UnitSystem;
use clap::{Args, ValueEnum};

use crate::cli::print;
use crate::cli::progress::stop;

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
    /// Scenario file, or the name of a built-in one; without it, the built-in mixed-reef.
    scenario: Option<String>,
    /// Override a key of the scenario, as in --set change.every=10d. May be given many times.
    #[arg(long, value_name = "KEY=VALUE")]
    set: Vec<String>,
    /// Mass: water and salt are weighed; ideal: volumes add, as in hand calculation; without it, the scenario's.
    #[arg(long, value_name = "mass|ideal")]
    basis: Option<String>,
    /// Units shown: metric, us or imperial; without it, show.units of the scenario.
    #[arg(long, value_parser = UnitSystem::NAMES)]
    units: Option<String>,
    /// Scale of your meter, on which salinity is shown, as in "sg 25C/25C"; without it, show.salinity of the scenario.
    #[arg(long, value_name = "SCALE")]
    show_salinity: Option<String>,
    /// A laboratory's sheet to start from: CSV with `element`, `value` and `unit`; without it, the tank starts as the scenario says.
    #[arg(long, value_name = "FILE")]
    lab: Option<PathBuf>,
}

impl ScenarioArgs {
    /// It and more of them, by their names.
    fn and(&self, more: &[String]) -> Vec<String> {
        self.scenario.iter().chain(more).cloned().collect()
    }

    /// Loads another one with the same overrides, and more, which go last.
    fn load_other(&self, name: &str, more: &[String]) -> Result<Loaded, AppError> {
        let basis = self.basis.iter().map(|basis| format!("basis={basis}"));
        let units = self.units.iter().map(|units| format!("show.units={units}"));
        let scale = self.show_salinity.iter().map(|scale| format!("show.salinity={scale}"));
        let overrides: Vec<String> =
            units.chain(self.set.iter().chain(more).cloned()).chain(basis).chain(scale).collect();
        let mut loaded = load(name, &overrides)?;
        loaded.scenario.plan.stop = stop();
        Ok(loaded)
    }

    /// Loads it.
    pub(crate) fn load(&self) -> Result<Loaded, AppError> {
        self.load_with(&[])
    }

    /// Loads it with more overrides, which go last. The built-in scenario is never taken without a word.
    pub(crate) fn load_with(&self, more: &[String]) -> Result<Loaded, AppError> {
        if self.scenario.is_none() {
            print::note(&format!("note: no scenario is named, so the built-in {DEFAULT_SCENARIO} is taken"));
        }
        let loaded = self.load_other(self.scenario.as_deref().unwrap_or(DEFAULT_SCENARIO), more)?;
        let Some(sheet) = &self.lab else { return Ok(loaded) };
        let from = from_lab(&loaded, sheet)?;
        for note in &from.notes {
            print::note(&format!("lab: {note}"));
        }
        Ok(from.loaded)
    }
}

/// The units that are shown where no scenario says it.
#[derive(Debug, Args)]
pub(crate) struct UnitsArgs {
    /// Units shown, and what a bare gal means: metric, us or imperial.
    #[arg(long, default_value = "metric", value_parser = UnitSystem::NAMES)]
    units: String,
}

impl UnitsArgs {
    /// The system.
    pub(crate) fn system(&self) -> UnitSystem {
        UnitSystem::named(&self.units)
    }
}

/// How a command that makes no files of its own answers.
#[derive(Debug, Args)]
pub(crate) struct FormatArgs {
    /// How the answer is printed.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    /// Write the answer into this folder too: a page and JSON; without it, no file is written.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    detail: DetailArgs,
}

/// How much of the answer is printed.
#[derive(Debug, Args)]
pub(crate) struct DetailArgs {
    /// Print the answer alone, and what to do: no tables, cautions or progress.
    #[arg(long, short, conflicts_with = "full")]
    pub(crate) quiet: bool,
    /// Print everything, also what stands in the files.
    #[arg(long)]
    full: bool,
}

impl DetailArgs {
    fn detail(&self) -> Detail {
        match (self.quiet, self.full) {
            (true, _) => Detail::Least,
            (_, true) => Detail::Full,
            _ => Detail::Usual,
        }
    }
}

impl FormatArgs {
    /// Prints an answer.
    pub(crate) fn deliver<A: Answer>(&self, answer: &A, of: &A::Of) -> Result<(), AppError> {
        let folder = self.out.as_deref().map(Folder::open).transpose()?;
        if let Some(folder) = &folder {
            answer.write(of, folder)?;
        }
        show(answer, of, self.format, self.detail.detail())?;
        if let Some(folder) = folder {
            folder.finish(A::COMMAND, None)?;
        }
        Ok(())
    }
}

/// Where a command writes and how it answers.
#[derive(Debug, Args)]
pub(crate) struct OutputArgs {
    /// Folder for the files; without it, a folder in output/ for this scenario and these overrides.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Write no files: print the answer alone.
    #[arg(long, conflicts_with = "out")]
    no_files: bool,
    /// How the answer is printed.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    #[command(flatten)]
    detail: DetailArgs,
}

impl OutputArgs {
    /// Whether nothing but the answer is to be printed.
    pub(crate) const fn quiet(&self) -> bool {
        self.detail.quiet
    }

    /// The folder for results: the one that was named, or `place`; nothing where no files are wanted.
    pub(crate) fn folder(&self, place: PathBuf) -> Result<Option<Folder>, AppError> {
        if self.no_files {
            return Ok(None);
        }
        Folder::open(&self.out.clone().unwrap_or(place)).map(Some)
    }

    /// Writes an answer into its folder, prints it, and says what was written and where.
    pub(crate) fn deliver<A: Answer>(
        &self,
        answer: &A,
        of: &A::Of,
        folder: Option<Folder>,
        checksum: Option<&str>,
    ) -> Result<(), AppError> {
        let Some(folder) = folder else { return show(answer, of, self.format, self.detail.detail()) };
        answer.write(of, &folder)?;
        show(answer, of, self.format, self.detail.detail())?;
        let path = folder.path().to_owned();
        let files = folder.finish(A::COMMAND, checksum)?;
        if !self.quiet() {
            let page = path.join(A::page_name());
            let more = if self.detail.full || self.format == Format::Json { "" } else { " (--full prints all)" };
            print::note(&format!(
                "Report{more}, and {} more files in its folder:\n{}",
                files.saturating_sub(1),
                page.display()
            ));
        }
        Ok(())
    }
}

/// Prints what is told for people.
fn print_report(report: &Report, detail: Detail) {
    print::answer(&print::coloured(&terminal(report, print::width(), detail)));
}

/// Prints an answer, and what there is to remark about what was read.
fn show<A: Answer>(answer: &A, of: &A::Of, format: Format, detail: Detail) -> Result<(), AppError> {
    match format {
        Format::Json => print::answer(&answer.json()?),
        Format::Text => print_report(&answer.told(of), detail),
    }
    for note in answer.notes() {
        print::note(&format!("note: {note}"));
    }
    Ok(())
}
