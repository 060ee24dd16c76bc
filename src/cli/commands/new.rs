//! `new`: a commented scenario to start from.

use std::path::{Path, PathBuf};

use brinecast::app::{AppError, write_file};
use brinecast::scenario::{Starter, starter, starter_station};
use brinecast::seawater::Scale;
use clap::Args;

use super::UnitsArgs;
use crate::cli::exit::Exit;
use crate::cli::print;

/// Example: brinecast new my-reef --units us
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast new my-reef --units us --meter \"sg 60F/60F\"")]
pub(crate) struct New {
    /// Name of the scenario; the file is named after it, in this folder.
    name: String,
    #[command(flatten)]
    units: UnitsArgs,
    /// Scale of your meter, on which salinity is shown: "psu", "sg 60F/60F", "sg 25C/25C", "mS/cm"; without it, psu.
    #[arg(long, value_name = "SCALE")]
    meter: Option<String>,
    /// A mixing station with the tanks that it serves.
    #[arg(long)]
    station: bool,
}

impl New {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let name = self.name.trim_end_matches(".toml");
        let path = Path::new(name);
        let title = path.file_name().and_then(|n| n.to_str()).unwrap_or("");
        let folder = path.parent().unwrap_or(Path::new(""));
        if !folder.as_os_str().is_empty() && !folder.is_dir() {
            return Err(AppError::Usage(format!(
                "there is no folder {}\n  = help: make it first, or give a name without /",
                folder.display()
            )));
        }
        let stem = file_stem(title);
        if stem.is_empty() {
            return Err(AppError::Usage(format!(
                "`{name}` cannot name a file\n  = help: use letters and digits, as in my-reef"
            )));
        }
        if let Some(meter) = &self.meter {
            Scale::parse(meter).map_err(|e| {
                AppError::Usage(format!("--meter: {e}\n  = help: example: --meter \"sg 60F/60F\", as its scale says"))
            })?;
        }
        let path: PathBuf = folder.join(format!("{stem}.toml"));
        if path.exists() {
            return Err(AppError::Exists(path));
        }
        let of = Starter { name: &stem, title, units: self.units.system(), meter: self.meter.as_deref() };
        let (text, command) = if self.station { (starter_station(of), "station") } else { (starter(of), "run") };
        write_file(&path, text.as_bytes())?;
        let file = path.display();
        print::answer(&format!("{file} is written. Put in your own numbers, then: brinecast {command} {file}\n"));
        Ok(Exit::Fine)
    }
}

/// A name as that of a file: letters, digits and dashes.
fn file_stem(name: &str) -> String {
    let kept = |c: char| if c.is_alphanumeric() || c == '_' { c } else { '-' };
    let dashed: String = name.chars().filter(|c| !c.is_control() && !"\"\\/".contains(*c)).map(kept).collect();
    let words: Vec<&str> = dashed.split('-').filter(|word| !word.is_empty()).collect();
    let joined = words.join("-");
    if name.contains(' ') { joined.to_lowercase() } else { joined }
}
