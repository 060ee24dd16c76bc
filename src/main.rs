//! The command line of brinecast.

mod cli;
mod web;

fn main() -> std::process::ExitCode {
    cli::main()
}
