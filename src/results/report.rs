//! An answer as it is told, on a terminal, on a page and on paper: the answer first, then what to do, then the numbers behind
//! it, then the rest. It is written once and shown everywhere.

use super::{Caution, Warning};

/// An answer as it is told.
#[derive(Clone, Debug, Default)]
pub struct Report {
    /// What it is about.
    pub title: String,
    /// What was asked, where there is a question.
    pub question: String,
    /// Which days, how many members: what is asked besides.
    pub about: String,
    /// Whether the answer is yes or no, where it is one of the two.
    pub verdict: Option<bool>,
    /// The answer in a sentence or two.
    pub answer: String,
    /// What to do, the most useful first.
    pub todo: Vec<Action>,
    /// Whether that is done in turn, step by step.
    pub in_turn: bool,
    /// The few numbers behind it.
    pub numbers: Vec<ReportPart>,
    /// Whether those are the answer: a table to follow, a list that was asked for.
    pub numbers_are_the_answer: bool,
    /// The rest, from the top.
    pub sections: Vec<ReportSection>,
    /// Warnings with advice that the answer has not told already.
    pub warnings: Vec<Warning>,
    /// The caution that this very answer calls for.
    pub caution: Option<Caution>,
    /// Cautions for the work itself.
    pub cautions: Vec<String>,
    /// Where it comes from: label and value.
    pub provenance: Vec<(String, String)>,
}

/// Something to do, with the numbers to use, and what would do as well: sentences.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
pub struct Action {
    /// What to do.
    #[serde(rename = "do")]
    pub what: String,
    /// The keys of the scenario that do it, as they are set on the command line; none where it is done by hand.
    pub set: Vec<String>,
    /// What would do instead.
    pub or: Vec<Way>,
}

/// One way to do something.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
pub struct Way {
    /// What to do.
    #[serde(rename = "do")]
    pub what: String,
    /// The keys of the scenario that do it.
    pub set: Vec<String>,
}

impl Way {
    /// A way that is done by hand.
    #[must_use]
    pub fn by_hand(what: impl Into<String>) -> Self {
        Self { what: what.into(), set: Vec::new() }
    }
}

impl Action {
    /// What to do, where there is one way.
    #[must_use]
    pub fn new(what: impl Into<String>) -> Self {
        Self { what: what.into(), set: Vec::new(), or: Vec::new() }
    }

    /// The first of several ways, with the others beside it; nothing where there is none.
    #[must_use]
    pub fn first_of(ways: &[Way]) -> Option<Self> {
        let (first, others) = ways.split_first()?;
        let said = |way: &Way| Way { what: as_sentence(&way.what), set: way.set.clone() };
        let Way { what, set } = said(first);
        Some(Self { what, set, or: others.iter().map(said).collect() })
    }
}

/// A text as a sentence: a capital, a full stop.
#[must_use]
pub fn as_sentence(text: &str) -> String {
    let first_word = text.split(' ').next().unwrap_or_default();
    // A key stays as it is written.
    let key = first_word.trim_end_matches(['.', ',', ':']).contains(['.', '_', '=']);
    let start = if key { text.to_owned() } else { capitalised(text) };
    if start.ends_with(['.', '!', '?']) || start.is_empty() { start } else { start + "." }
}

/// A text with a capital.
#[must_use]
pub fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

/// A key as it is spoken: `salt water` for `salt_water`.
#[must_use]
pub fn spoken(key: &str) -> String {
    key.replace('_', " ")
}

/// The same at the begin of a sentence.
#[must_use]
pub fn spoken_first(key: &str) -> String {
    capitalised(&spoken(key))
}

/// A section.
#[derive(Clone, Debug)]
pub struct ReportSection {
    /// Its heading.
    pub heading: String,
    /// What stands in it.
    pub parts: Vec<ReportPart>,
}

impl ReportSection {
    /// A section.
    #[must_use]
    pub fn new(heading: &str, parts: Vec<ReportPart>) -> Self {
        Self { heading: heading.into(), parts }
    }
}

/// A piece of a section.
#[derive(Clone, Debug)]
pub enum ReportPart {
    /// A paragraph.
    Text(String),
    /// A table.
    Table(ReportTable),
}

impl ReportPart {
    /// A paragraph.
    #[must_use]
    pub fn text(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }

    /// A table from its caption, heads and rows.
    #[must_use]
    pub fn table(caption: &str, head: &[&str], rows: Vec<Vec<String>>) -> Self {
        let head = head.iter().map(|h| (*h).to_owned()).collect();
        Self::Table(ReportTable { caption: caption.into(), head, rows, ..ReportTable::default() })
    }

    /// The same of which a terminal shows the first rows where not all is asked for.
    #[must_use]
    pub fn first(self, rows: usize) -> Self {
        match self {
            Self::Table(table) => Self::Table(ReportTable { first: Some(rows), ..table }),
            text @ Self::Text(_) => text,
        }
    }

    /// The same with its caption above it on a terminal too: where the words around it do not say what it holds.
    #[must_use]
    pub fn captioned(caption: &str, head: &[&str], rows: Vec<Vec<String>>) -> Self {
        match Self::table(caption, head, rows) {
            Self::Table(table) => Self::Table(ReportTable { shows_caption: true, ..table }),
            text @ Self::Text(_) => text,
        }
    }
}

/// A table: the first column names the row.
#[derive(Clone, Debug, Default)]
pub struct ReportTable {
    /// What it shows.
    pub caption: String,
    /// Heads of the columns.
    pub head: Vec<String>,
    /// Rows.
    pub rows: Vec<Vec<String>>,
    /// Whether a terminal shows the caption.
    pub shows_caption: bool,
    /// Rows that a terminal shows where not all is asked for; all where it is nothing.
    pub first: Option<usize>,
}

impl ReportTable {
    /// Signs that a row of it takes, with two between columns.
    #[must_use]
    pub fn signs(&self) -> usize {
        let widest = |column: usize| {
            let cells = self.rows.iter().filter_map(|row| row.get(column));
            cells.chain(self.head.get(column)).map(|cell| cell.chars().count()).max().unwrap_or(0) + 2
        };
        (0..self.head.len()).map(widest).sum()
    }

    /// Whether the cells of a column are numbers, to stand below each other by their last digits.
    #[must_use]
    pub fn is_numbers(&self, column: usize) -> bool {
        let number = |cell: &str| {
            // A date or a time of day is none.
            let moment = cell.contains(':') || cell.as_bytes().get(4) == Some(&b'-');
            let bare = cell.trim_start_matches(['+', '-', '±', '(', '<', '>', ' ']);
            cell == "-"
                || cell.is_empty()
                || !moment && bare.starts_with(|c: char| c.is_ascii_digit()) && bare.len() <= LONGEST_CELL
        };
        self.rows.iter().filter_map(|row| row.get(column)).all(|cell| number(cell))
            && self.rows.iter().any(|row| row.get(column).is_some_and(|cell| !cell.is_empty() && cell != "-"))
    }
}

/// Signs of the longest cell that is a number, with its unit and its error.
const LONGEST_CELL: usize = 22;
