//! `completions` and `man`: for shells and for readers of manuals.

use std::io::Write;

use brinecast::app::{AppError, Folder, LISTS, keys, list};
use clap::builder::PossibleValuesParser;
use clap::{Arg, Args, Command, CommandFactory};
use clap_complete::Shell;
use clap_mangen::roff::{Roff, bold, roman};

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

/// The names of a list.
fn names(kind: &str) -> Vec<String> {
    let lists = list(Some(kind)).map_or_else(|_| Vec::new(), |answer| answer.lists);
    lists.into_iter().flat_map(|l| l.lines).map(|line| line.name).collect()
}

/// The commands with the names that they know: of scenarios, keys, faults, measures. What a shell may offer, a file of one's own may
/// stand beside, so this is for completions alone.
fn knowing(command: Command) -> Command {
    let key_names: Vec<String> =
        keys(None, false).map_or_else(|_| Vec::new(), |a| a.keys.into_iter().map(|k| k.key).collect());
    let measures: Vec<String> = names("measures").iter().map(|m| m.replace("QUANTITY", "salinity")).collect();
    let set = key_names.iter().map(|key| format!("{key}=")).collect::<Vec<_>>();
    let [scenarios, stations, faults] = ["scenarios", "stations", "faults"].map(names);
    let chapters: Vec<String> = brinecast::guide::CHAPTERS.iter().map(|(name, ..)| (*name).to_owned()).collect();
    let of = move |command: &str, arg: &Arg| -> Option<Vec<String>> {
        Some(match (command, arg.get_id().as_str()) {
            ("station", "scenario" | "file") => stations.clone(),
            ("show", "name") => scenarios.iter().chain(&stations).cloned().collect(),
            ("guide", "chapter") => chapters.clone(),
            (_, "scenario" | "more" | "also") => scenarios.clone(),
            (_, "set" | "over" | "spread") => set.clone(),
            ("solve", "key") => key_names.clone(),
            (_, "fault" | "only") => faults.clone(),
            (_, "measure") => measures.clone(),
            ("list", "kind") => LISTS.map(str::to_owned).to_vec(),
            _ => return None,
        })
    };
    command.mut_subcommands(move |below| {
        let name = below.get_name().to_owned();
        below.mut_args(|arg| match of(&name, &arg) {
            Some(known) => arg.value_parser(PossibleValuesParser::new(known)),
            None => arg,
        })
    })
}

impl Completions {
    #[expect(clippy::unnecessary_wraps, reason = "every command can fail")]
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let mut bytes = Vec::new();
        clap_complete::generate(self.shell, &mut knowing(Cli::command()), "brinecast", &mut bytes);
        print::answer(&String::from_utf8_lossy(&bytes));
        Ok(Exit::Fine)
    }
}

/// Example: brinecast man > brinecast.1
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast man > brinecast.1\nWith --out DIR a page for every command too.")]
pub(crate) struct Man {
    /// Folder for the pages of all commands; without it, the main page on stdout.
    #[arg(long, value_name = "DIR")]
    out: Option<std::path::PathBuf>,
}

impl Man {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let command = Cli::command();
        let main = page(command.clone(), true)?;
        let Some(path) = &self.out else {
            print::answer(&String::from_utf8_lossy(&main));
            return Ok(Exit::Fine);
        };
        let folder = Folder::open(path)?;
        folder.write("brinecast.1", &main)?;
        for below in command.get_subcommands() {
            let name = format!("brinecast-{}", below.get_name());
            let below = below.clone().display_name(name.clone()).bin_name(format!("brinecast {}", below.get_name()));
            folder.write(&format!("{name}.1"), &page(below, false)?)?;
        }
        folder.finish("man", None)?;
        Ok(Exit::Fine)
    }
}

/// A page: what the command line knows of a command, then its files, environment, exit status and example; the main page has the
/// keys of scenario files too.
fn page(command: Command, main: bool) -> Result<Vec<u8>, AppError> {
    let fail = |e: std::io::Error| AppError::Usage(e.to_string());
    let mut bytes = Vec::new();
    let example = command.get_after_help().map(|help| help.to_string().replace("Example: ", ""));
    clap_mangen::Man::new(command.after_help("")).render(&mut bytes).map_err(fail)?;
    let mut rest = Roff::new();
    if main {
        rest.control("SH", ["KEYS"]);
        for key in keys(None, false)?.keys {
            let default = key.default.map_or(String::new(), |d| format!(" Left out: {d}."));
            rest.control("TP", []);
            rest.text([bold(key.key)]);
            rest.text([roman(format!("{}{default} Example: {}", key.means, key.example))]);
        }
    }
    for (heading, lines) in SECTIONS {
        rest.control("SH", [heading]);
        for (word, what) in lines {
            rest.control("TP", []);
            rest.text([bold(*word)]);
            rest.text([roman(*what)]);
        }
    }
    rest.control("SH", ["EXAMPLES"]);
    let examples = example.unwrap_or_else(|| "brinecast run mixed-reef\nbrinecast guide first-tank".to_owned());
    for line in examples.lines().filter(|l| !l.is_empty()) {
        rest.control("PP", []);
        rest.text([roman(line)]);
    }
    bytes.write_all(rest.render().as_bytes()).map_err(fail)?;
    Ok(bytes)
}

/// A heading, and words with what they mean.
type ManSection = (&'static str, &'static [(&'static str, &'static str)]);

/// What every page says.
const SECTIONS: [ManSection; 3] = [
    (
        "FILES",
        &[
            ("*.toml", "Scenarios and stations, in UTF-8; \"-\" reads one from standard input."),
            ("output/SCENARIO/", "Where files go, unless --out says otherwise or --no-files forbids it."),
            (
                "manifest-COMMAND.json",
                "Every file of a command with its SHA-256; the next run removes what it no longer writes.",
            ),
        ],
    ),
    (
        "ENVIRONMENT",
        &[
            ("COLUMNS", "Width of the terminal, 40 to 200; 80 where it is not set."),
            ("NO_COLOR", "Prints no colour."),
            ("RAYON_NUM_THREADS", "Threads of a study; the answer does not depend on them."),
        ],
    ),
    (
        "EXIT STATUS",
        &[
            ("0", "The answer arrived."),
            ("1", "The answer is no, and --check was asked."),
            ("2", "The question must be corrected, or the answer could not be written."),
            ("130", "Stopped by Ctrl-C."),
        ],
    ),
];
