//! `new`: a commented scenario to start from.

use std::path::{Path, PathBuf};

use brinecast::app::{AppError, write_file};
use brinecast::scenario::{starter, starter_station};
use clap::Args;

use crate::cli::exit::Exit;
use crate::cli::print;

/// Example: brinecast new my-reef --us
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast new my-reef --us")]
pub(crate) struct New {
    /// Name of the scenario; the file is NAME.toml in this folder.
    name: String,
    /// In US gallons and °F.
    #[arg(long)]
    us: bool,
    /// A mixing station with the tanks that it serves.
    #[arg(long)]
    station: bool,
}

impl New {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let name = self.name.trim_end_matches(".toml");
        let stem = Path::new(name).file_name().and_then(|n| n.to_str()).unwrap_or_default();
        let plain = stem.chars().all(|c| c.is_alphanumeric() || c == '-' || c == '_') && !stem.is_empty();
        if !plain {
            return Err(AppError::Usage(format!("`{name}` cannot name a file: use letters, digits, - and _")));
        }
        let path = PathBuf::from(format!("{name}.toml"));
        if path.exists() {
            return Err(AppError::Exists(path));
        }
        let (text, command) =
            if self.station { (starter_station(stem, self.us), "station") } else { (starter(stem, self.us), "run") };
        write_file(&path, text.as_bytes())?;
        print::answer(&format!("{} written; try: brinecast {command} {}\n", path.display(), path.display()));
        Ok(Exit::Fine)
    }
}
