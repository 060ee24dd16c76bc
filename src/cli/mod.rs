//! The command line: what is asked, what is printed, the exit code. The only code that prints.

mod args;
mod commands;
mod exit;
mod print;
mod progress;
mod renamed;

use clap::Parser;
use clap::error::{ContextKind, ContextValue};

/// The answer to an option that once had this name.
fn now_called(error: &clap::Error) -> Option<String> {
    let command = std::env::args().nth(1)?;
    let Some(ContextValue::String(option)) = error.get(ContextKind::InvalidArg) else { return None };
    let new = renamed::renamed(&command, option)?;
    Some(format!("error: {option} of `{command}` is now {new}\n  = help: brinecast {command} --help"))
}

/// Parses the arguments, runs the command, and turns its end into an exit code. An answer that did not
/// arrive is a failure, however well it was worked out.
pub(crate) fn main() -> std::process::ExitCode {
    let exit = match args::Cli::try_parse() {
        Ok(cli) => cli.command.run().unwrap_or_else(|error| {
            print::error(&error);
            let stopped = matches!(error, brinecast::app::AppError::Stopped);
            if stopped { exit::Exit::Stopped } else { exit::Exit::Usage }
        }),
        Err(error) if error.use_stderr() => {
            print::note(&now_called(&error).unwrap_or_else(|| error.render().ansi().to_string().trim_end().to_owned()));
            exit::Exit::Usage
        }
        Err(help) => {
            print::answer(&help.render().ansi().to_string());
            exit::Exit::Fine
        }
    };
    if let Some(why) = print::why_lost() {
        print::note(&format!("error: the answer could not be written to standard output: {why}"));
        return exit::Exit::Usage.into();
    }
    exit.into()
}
