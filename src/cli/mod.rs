//! The command line: what is asked, what is printed, the exit code. The only code that prints.

mod args;
mod commands;
mod exit;
mod print;
mod progress;

use clap::Parser;

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
            print::note(error.render().ansi().to_string().trim_end());
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
