//! `guide`: the chapters of the guide, on the terminal.

use brinecast::app::AppError;
use brinecast::guide::{CHAPTERS, chapter};
use clap::Args;

use crate::cli::exit::Exit;
use crate::cli::print;

/// Example: brinecast guide first-tank
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast guide first-tank")]
pub(crate) struct Guide {
    /// A chapter; without it, the list of them.
    chapter: Option<String>,
}

impl Guide {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let Some(name) = &self.chapter else {
            let lines = CHAPTERS.iter().map(|(name, title, _)| format!("  {name:<14} {title}\n"));
            let list: String = lines.collect();
            print::answer(&format!("Chapters, each with: brinecast guide CHAPTER\n\n{list}"));
            return Ok(Exit::Fine);
        };
        let text = chapter(name).ok_or_else(|| {
            let help = brinecast::scenario::nearest(name, CHAPTERS.iter().map(|(name, ..)| *name));
            AppError::Usage(format!("the guide has no chapter `{name}`\n  = help: {help}"))
        })?;
        print::answer(&print::wrapped(text));
        Ok(Exit::Fine)
    }
}
