//! The command line of brinecast.

mod cli;

fn main() -> std::process::ExitCode {
    cli::main()
}
