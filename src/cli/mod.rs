//! The command line: what is asked, what is printed, the exit code. The only code that prints.

mod args;
mod commands;
mod exit;
mod print;
mod progress;

use clap::Parser;

/// Parses the arguments, runs the command, and turns its end into an exit code.
pub(crate) fn main() -> std::process::ExitCode {
    let cli = match args::Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => {
            // clap prints help on stdout and mistakes on stderr; a mistake is exit 2.
            let _ = error.print();
            return if error.use_stderr() { exit::Exit::Usage.into() } else { exit::Exit::Fine.into() };
        }
    };
    match cli.command.run() {
        Ok(exit) => exit.into(),
        Err(error) => {
            print::error(&error);
            let stopped = matches!(error, brinecast::app::AppError::Stopped);
            if stopped { exit::Exit::Stopped.into() } else { exit::Exit::Usage.into() }
        }
    }
}
