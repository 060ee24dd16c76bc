//! `guide`: the chapters of the guide, on the terminal.

use brinecast::app::AppError;
use brinecast::guide::{CHAPTERS, chapter};
use clap::Args;

use crate::cli::exit::Exit;
use crate::cli::print;

/// Example: brinecast guide first-tank
#[derive(Debug, Args)]
#[command(after_help = "Example: brinecast guide first-tank")]
pub(crate) struct Guide {
    /// A chapter; without it, the list of them.
    chapter: Option<String>,
}

impl Guide {
    pub(crate) fn run(&self) -> Result<Exit, AppError> {
        let Some(name) = &self.chapter else {
            let lines = CHAPTERS.iter().map(|(name, title, _)| format!("  {name:<14} {title}\n"));
            let list: String = lines.collect();
            print::answer(&format!("Chapters, each with: brinecast guide CHAPTER\n\n{list}"));
            return Ok(Exit::Fine);
        };
        let text = chapter(name).ok_or_else(|| {
            let help = brinecast::scenario::nearest(name, CHAPTERS.iter().map(|(name, ..)| *name));
            AppError::Usage(format!("the guide has no chapter `{name}`\n  = help: {help}"))
        })?;
        print::answer(&plain(text));
        Ok(Exit::Fine)
    }
}

/// A chapter for a terminal: paragraphs and items are joined and wrapped, commands and tables stay as they are.
fn plain(text: &str) -> String {
    let width = print::width().min(MOST_COLUMNS);
    let (mut out, mut open, mut code) = (String::new(), String::new(), false);
    let close = |open: &mut String, out: &mut String| {
        if !open.is_empty() {
            let indent = if open.starts_with("- ") { "  " } else { "" };
            let options = textwrap::Options::new(width)
                .subsequent_indent(indent)
                .break_words(false)
                .word_splitter(textwrap::WordSplitter::NoHyphenation);
            *out += &textwrap::fill(open, options);
            *out += "\n";
            open.clear();
        }
    };
    for line in text.lines() {
        let fence = line.starts_with("```");
        let stands = code || fence || line.is_empty() || line.starts_with(['#', '|']);
        let begins = line.starts_with("- ") || line.split_once(". ").is_some_and(|(n, _)| n.parse::<u32>().is_ok());
        if stands || begins {
            close(&mut open, &mut out);
        }
        if fence {
            code = !code;
        } else if code {
            out += &format!("    {line}\n");
        } else if stands {
            out += &format!("{line}\n");
        } else {
            open += if open.is_empty() { "" } else { " " };
            open += line;
        }
    }
    close(&mut open, &mut out);
    out
}

/// Widest prose.
const MOST_COLUMNS: usize = 90;
