//! What every answer can do, and the one way in which it becomes files.

use super::report::figures;
use super::{AppError, Folder, to_json, to_json_line};
use crate::chart::Picture;
use crate::export::{self, Detail};
use crate::results::Report;

/// An answer of a command, in every form that it has. A command gives one; the terminal, the page and the files are
/// made of it, and nothing else is.
pub trait Answer {
    /// What was asked about: a loaded scenario, a station, the units to show.
    type Of;
    /// What stands in the JSON.
    type Data: serde::Serialize + schemars::JsonSchema;

    /// Name of the command, and of the files that are not named otherwise.
    const COMMAND: &'static str;

    /// The numbers.
    fn data(&self) -> &Self::Data;

    /// The answer as it is told: on a terminal, on a page, on paper.
    fn told(&self, of: &Self::Of) -> Report;

    /// Remarks about what was read.
    fn notes(&self) -> Vec<String> {
        Vec::new()
    }

    /// Files beside JSON, page and pictures: tables, calendars, scenarios, cards.
    ///
    /// # Errors
    ///
    /// [`AppError::Export`] where one cannot be made.
    fn tables(&self, _of: &Self::Of) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(Vec::new())
    }

    /// Pictures, each with its file name.
    fn pictures(&self) -> &[(String, Picture)] {
        &[]
    }

    /// Name of the file of the JSON.
    #[must_use]
    fn json_name() -> String {
        format!("{}.json", Self::COMMAND)
    }

    /// Name of the page.
    #[must_use]
    fn page_name() -> String {
        format!("{}.html", Self::COMMAND)
    }

    /// The answer for a terminal of so many columns, all of it.
    fn text(&self, of: &Self::Of, width: usize) -> String {
        export::terminal(&self.told(of), width, Detail::Full)
    }

    /// The answer as a page.
    ///
    /// # Errors
    ///
    /// [`AppError::Export`] where a picture of it cannot be drawn.
    fn page(&self, of: &Self::Of) -> Result<String, AppError> {
        Ok(export::report_html(&self.told(of), &figures(self.pictures())?))
    }

    /// The JSON.
    ///
    /// # Errors
    ///
    /// [`AppError::Usage`] where it cannot be written as JSON.
    fn json(&self) -> Result<String, AppError> {
        to_json(&Versioned::of(self.data()))
    }

    /// The JSON as a line of a list of answers, with the file that it is about.
    ///
    /// # Errors
    ///
    /// [`AppError::Usage`] where it cannot be written as JSON.
    fn json_line(&self, file: &str) -> Result<String, AppError> {
        to_json_line(&serde_json::json!({ "file": file, Self::COMMAND: Versioned::of(self.data()) }))
    }

    /// Writes every form that is a file.
    ///
    /// # Errors
    ///
    /// [`AppError::Write`] with the file that could not be written.
    fn write(&self, of: &Self::Of, folder: &Folder) -> Result<(), AppError> {
        for (name, bytes) in self.tables(of)? {
            folder.write(&name, &bytes)?;
        }
        folder.write(&Self::json_name(), self.json()?.as_bytes())?;
        folder.write(&Self::page_name(), self.page(of)?.as_bytes())?;
        folder.write_pictures(self.pictures())
    }
}

/// Version of the JSON of the answers: it changes when a key gets another name or meaning, or goes.
pub(super) const JSON_FORMAT: u32 = 3;

/// An answer with the version of its form.
#[derive(serde::Serialize)]
pub(super) struct Versioned<'a, D> {
    /// See [`JSON_FORMAT`].
    format: u32,
    /// The answer.
    #[serde(flatten)]
    data: &'a D,
}

impl<'a, D> Versioned<'a, D> {
    /// The answer with today's version.
    pub(super) const fn of(data: &'a D) -> Self {
        Self { format: JSON_FORMAT, data }
    }
}

/// Makes an answer of a struct that is its own JSON; the last argument tells it, from the answer and what was asked about.
macro_rules! answers_itself {
    ($answer:ty, $of:ty, $command:literal, $told:expr) => {
        impl $crate::app::Answer for $answer {
            type Of = $of;
            type Data = Self;

            const COMMAND: &'static str = $command;

            fn data(&self) -> &Self {
                self
            }

            fn told(&self, of: &$of) -> $crate::results::Report {
                let told: fn(&$answer, &$of) -> $crate::results::Report = $told;
                told(self, of)
            }
        }
    };
}
pub(super) use answers_itself;
