//! Printing: answers on stdout, progress and mistakes on stderr. A closed pipe is no mistake.

use std::io::{IsTerminal, Write};

use brinecast::app::{AppError, to_json};

/// Writes an answer to stdout.
pub(crate) fn answer(text: &str) {
    let mut out = anstream::stdout().lock();
    // A reader that has gone away wants no more.
    let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
}

/// Writes a result as JSON to stdout.
pub(crate) fn json(result: &impl serde::Serialize) -> Result<(), AppError> {
    answer(&to_json(result)?);
    Ok(())
}

/// Writes paragraphs to stdout, wrapped to the terminal.
pub(crate) fn paragraphs(text: &str) {
    answer(&(wrapped(text) + "\n"));
}

/// Text wrapped to the terminal, line by line.
pub(crate) fn wrapped(text: &str) -> String {
    let options = textwrap::Options::new(width()).subsequent_indent("  ");
    // A line with columns stays as it is.
    let prose = |line: &str| !line.trim_start().contains("   ");
    let lines: Vec<String> =
        text.lines().map(|line| if prose(line) { textwrap::fill(line, &options) } else { line.to_owned() }).collect();
    lines.join("\n") + if text.ends_with('\n') { "\n" } else { "" }
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

/// Columns that text may take: those of the terminal, at most 100, and 80 where there is none.
pub(crate) fn width() -> usize {
    std::env::var("COLUMNS").ok().and_then(|c| c.parse().ok()).unwrap_or(80usize).clamp(40, 100)
}
