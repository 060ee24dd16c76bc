//! What every answer can do, and the one way in which it becomes files.

use super::{AppError, Folder, to_json};
use crate::chart::Picture;

/// An answer of a command, in every form that it has. A command gives one; the terminal, the page and the files are
/// made of it, and nothing else is.
pub trait Answer {
    /// What was asked about: a loaded scenario, a station, the units to show.
    type Of;
    /// What stands in the JSON.
    type Data: serde::Serialize;

    /// Name of the command, and of the files that are not named otherwise.
    const COMMAND: &'static str;

    /// The numbers.
    fn data(&self) -> &Self::Data;

    /// The answer in words and tables, without its cautions, for so many columns.
    fn text(&self, of: &Self::Of, width: usize) -> String;

    /// Cautions for the work itself, to stand below the words.
    fn cautions(&self) -> &[String];

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

    /// The answer as a page, where there is one, with its file name.
    ///
    /// # Errors
    ///
    /// [`AppError::Export`] where a picture of it cannot be drawn.
    fn page(&self, _of: &Self::Of) -> Result<Option<(String, String)>, AppError> {
        Ok(None)
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

    /// The JSON.
    ///
    /// # Errors
    ///
    /// [`AppError::Usage`] where it cannot be written as JSON.
    fn json(&self) -> Result<String, AppError> {
        to_json(self.data())
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
        if let Some((name, page)) = self.page(of)? {
            folder.write(&name, page.as_bytes())?;
        }
        folder.write_pictures(self.pictures())
    }
}

/// Makes an answer of a struct that is its own JSON and holds its cautions; the last argument gives its words, from the
/// answer, what was asked about, and the columns.
macro_rules! answers_itself {
    ($answer:ty, $of:ty, $command:literal, $text:expr) => {
        impl $crate::app::Answer for $answer {
            type Of = $of;
            type Data = Self;

            const COMMAND: &'static str = $command;

            fn data(&self) -> &Self {
                self
            }

            fn text(&self, of: &$of, width: usize) -> String {
                let words: fn(&$answer, &$of, usize) -> String = $text;
                words(self, of, width)
            }

            fn cautions(&self) -> &[String] {
                &self.cautions
            }
        }
    };
}
pub(super) use answers_itself;
