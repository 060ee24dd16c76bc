//! Printing: answers on stdout, progress and mistakes on stderr. A closed pipe is no mistake.

use std::io::{IsTerminal, Write};
use std::sync::OnceLock;

use brinecast::app::AppError;
use brinecast::export::NARROWEST;
use brinecast::results::StationAnswer;

/// What became of the answer: why it was lost, once it was.
static LOST: OnceLock<String> = OnceLock::new();

/// Writes an answer to stdout.
pub(crate) fn answer(text: &str) {
    if closed::at_start() {
        lost("it is closed");
        return;
    }
    let mut out = anstream::stdout().lock();
    if let Err(why) = out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        failed(&why);
    }
}

/// Notes that stdout did not take an answer. A reader that has gone away wants no more, and that is no loss.
pub(crate) fn failed(why: &std::io::Error) {
    if why.kind() != std::io::ErrorKind::BrokenPipe {
        lost(&why.to_string());
    }
}

fn lost(why: &str) {
    // The first reason is the one to tell.
    let _ = LOST.set(why.to_owned());
}

/// Why an answer was lost, where one was.
pub(crate) fn why_lost() -> Option<&'static str> {
    LOST.get().map(String::as_str)
}

/// Whether stdout was closed when the program began. By the time `main` runs, a closed stdout is the null
/// device, where every answer is written and none arrives; so it is looked at before.
#[cfg(unix)]
mod closed {
    use std::sync::atomic::{AtomicBool, Ordering};

    static CLOSED: AtomicBool = AtomicBool::new(false);

    // The only such word of the project: code before `main` is safe where it asks the system one question
    // and sets one flag.
    #[ctor::ctor(unsafe)]
    fn look() {
        CLOSED.store(rustix::io::fcntl_getfd(rustix::stdio::stdout()).is_err(), Ordering::Relaxed);
    }

    pub(super) fn at_start() -> bool {
        CLOSED.load(Ordering::Relaxed)
    }
}

#[cfg(not(unix))]
mod closed {
    pub(super) const fn at_start() -> bool {
        false
    }
}

/// Widest terminal that is written for, in columns.
const WIDEST: usize = 200;

/// Widest prose.
const PROSE: usize = 100;

/// Text wrapped to the terminal, line by line.
pub(crate) fn wrapped(text: &str) -> String {
    let options = textwrap::Options::new(width().min(PROSE)).subsequent_indent("  ");
    // A line with columns stays as it is.
    let prose = |line: &str| !line.trim_start().contains("   ");
    let lines: Vec<String> =
        text.lines().map(|line| if prose(line) { textwrap::fill(line, &options) } else { line.to_owned() }).collect();
    lines.join("\n") + if text.ends_with('\n') { "\n" } else { "" }
}

/// Words that begin a line and are worth a colour, with it (ANSI X3.64): the word says the same without.
const COLOURED: [(&str, &str); 8] = [
    ("No.", "1;31"),
    (StationAnswer::UNSURE, "1;33"),
    ("Yes.", "1;32"),
    ("Yes,", "1;32"),
    ("Do this:", "1"),
    ("Warning", "33"),
    ("Caution:", "36"),
    ("error:", "1;31"),
];

/// An answer with its first words in colour; where there is no terminal, or `NO_COLOR` is set, it goes out without.
pub(crate) fn coloured(text: &str) -> String {
    let line = |line: &str| {
        let found = COLOURED.iter().find(|(word, _)| line.starts_with(word));
        found
            .map_or_else(|| line.to_owned(), |(word, code)| format!("\x1b[{code}m{word}\x1b[0m{}", &line[word.len()..]))
    };
    text.split_inclusive('\n').map(line).collect()
}

/// Writes a line to stderr.
pub(crate) fn note(text: &str) {
    let _ = writeln!(anstream::stderr().lock(), "{text}");
}

/// Writes a mistake to stderr, in colour where the terminal shows it.
pub(crate) fn error(error: &AppError) {
    let text = match error {
        AppError::Problems(problems) => problems.render(true),
        // A person at a terminal gets lines that fit; a program gets the message as it is.
        other if std::io::stderr().is_terminal() => wrapped(&other.to_string()),
        other => other.to_string(),
    };
    note(&text);
}

/// Columns that an answer may take: those of the terminal, and 80 where there is none.
pub(crate) fn width() -> usize {
    std::env::var("COLUMNS").ok().and_then(|c| c.parse().ok()).unwrap_or(80usize).clamp(NARROWEST, WIDEST)
}
