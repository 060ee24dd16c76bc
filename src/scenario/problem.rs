//! What is wrong in a file, where, what is allowed, and an example.

use std::borrow::Cow;
use std::ops::Range;

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};

use super::source::Source;

/// Most mistakes that are shown; a file with more is another kind of file, or one slip that the rest follow from.
const MOST_SHOWN: usize = 20;
/// Longest message \[bytes\]; what stood in the file may be much longer.
const LONGEST_MESSAGE: usize = 400;

/// One mistake.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    source: usize,
    span: Range<usize>,
    /// What is wrong.
    pub message: String,
    /// What is allowed, with an example.
    pub help: Option<String>,
}

impl Problem {
    pub(super) fn new(source: usize, span: Range<usize>, message: String, help: Option<String>) -> Self {
        Self { source, span, message, help }
    }
}

/// All mistakes of a file and its overrides.
#[derive(Clone, Debug)]
pub struct Problems {
    sources: Vec<Source>,
    problems: Vec<Problem>,
}

impl Problems {
    pub(super) fn new(sources: Vec<Source>, mut problems: Vec<Problem>) -> Self {
        problems.sort_by_key(|p| (p.source, p.span.start));
        problems.dedup();
        Self { sources, problems }
    }

    /// The mistakes, in the order of the file.
    #[must_use]
    pub fn list(&self) -> &[Problem] {
        &self.problems
    }

    /// Line and column (both from 1, the column in characters) of a mistake.
    #[must_use]
    pub fn line_and_column(&self, problem: &Problem) -> (usize, usize) {
        let text = &self.sources[problem.source].text;
        let before = &text[..floor_boundary(text, problem.span.start)];
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
        (line, column)
    }

    /// The mistakes as text: `error: …`, then `file:line:column` and a caret under the value.
    #[must_use]
    pub fn render(&self, color: bool) -> String {
        let renderer = if color { Renderer::styled() } else { Renderer::plain() };
        let mut blocks: Vec<String> =
            self.problems.iter().take(MOST_SHOWN).map(|p| self.render_one(p, &renderer)).collect();
        if self.problems.len() > MOST_SHOWN {
            blocks.push(format!("{} more mistakes are not shown: mend these first", self.problems.len() - MOST_SHOWN));
        }
        blocks.join("\n\n")
    }

    fn render_one(&self, problem: &Problem, renderer: &Renderer) -> String {
        let source = &self.sources[problem.source];
        let message = shortened(&problem.message);
        if source.text.is_empty() {
            let help = problem.help.as_ref().map(|h| format!("\n  = help: {h}")).unwrap_or_default();
            return format!("error: {message}\n --> {}:1:1{help}", source.name);
        }
        let start = floor_boundary(&source.text, problem.span.start.min(source.text.len().saturating_sub(1)));
        let end = floor_boundary(&source.text, problem.span.end.max(start + 1).min(source.text.len())).max(start);
        let snippet = Snippet::source(source.text.as_str())
            .path(source.name.as_str())
            .fold(true)
            .annotation(AnnotationKind::Primary.span(start..end));
        let mut group = Level::ERROR.primary_title(message.as_ref()).element(snippet);
        if let Some(help) = &problem.help {
            group = group.element(Level::HELP.message(help.as_str()));
        }
        renderer.render(&[group])
    }
}

impl std::fmt::Display for Problems {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.render(false))
    }
}

impl std::error::Error for Problems {}

/// The message, its middle left out where it is too long: its end says what is allowed.
fn shortened(message: &str) -> Cow<'_, str> {
    if message.len() <= LONGEST_MESSAGE {
        return message.into();
    }
    let half = LONGEST_MESSAGE / 2;
    let end = floor_boundary(message, message.len() - half);
    format!("{} … {}", &message[..floor_boundary(message, half)], &message[end..]).into()
}

fn floor_boundary(text: &str, mut at: usize) -> usize {
    at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}
