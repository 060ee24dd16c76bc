//! `completions` and `man`: for shells and for readers of manuals.

use brinecast::app::{AppError, Folder};
use clap::{Args, CommandFactory};
use clap_complete::Shell;

use crate::cli::args::Cli;
use crate::cli::exit::Exit;
use crate::cli::print;

/// Example: brinecast completions bash > brinecast.bash
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast completions bash > brinecast.bash")]
pub(crate) struct Completions {
    /// The shell.
    shell: Shell,
}

impl Completions {
    #[expect(clippy::unnecessary_wraps, reason = "every command can fail")]
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let mut bytes = Vec::new();
        clap_complete::generate(self.shell, &mut Cli::command(), "brinecast", &mut bytes);
        print::answer(&String::from_utf8_lossy(&bytes));
        Ok(Exit::Fine)
    }
}

/// Example: brinecast man > brinecast.1
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast man > brinecast.1\nWith --out DIR a page for every command too.")]
pub(crate) struct Man {
    /// Folder for the pages of all commands; the main page on stdout where it is absent.
    #[arg(long, value_name = "DIR")]
    out: Option<std::path::PathBuf>,
}

impl Man {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let command = Cli::command();
        let page = |command: &clap::Command| -> Result<Vec<u8>, AppError> {
            let mut bytes = Vec::new();
            let man = clap_mangen::Man::new(command.clone());
            man.render(&mut bytes).map_err(|e| AppError::Usage(e.to_string()))?;
            Ok(bytes)
        };
        let Some(path) = &self.out else {
            print::answer(&String::from_utf8_lossy(&page(&command)?));
            return Ok(Exit::Fine);
        };
        let folder = Folder::open(path)?;
        folder.write("brinecast.1", &page(&command)?)?;
        for below in command.get_subcommands() {
            let name = format!("brinecast-{}", below.get_name());
            folder.write(
                &format!("{name}.1"),
                &page(&below.clone().display_name(name.clone()).bin_name(format!("brinecast {}", below.get_name())))?,
            )?;
        }
        Ok(Exit::Fine)
    }
}
