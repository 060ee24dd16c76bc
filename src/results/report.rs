//! A report as plain data: the answer first, then why.

use super::Warning;

/// A report.
#[derive(Clone, Debug, Default)]
pub struct Report {
    /// What it is about.
    pub title: String,
    /// The question.
    pub question: String,
    /// The answer in a sentence or two.
    pub answer: String,
    /// Its sections, from the top.
    pub sections: Vec<ReportSection>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
    /// Cautions for the work itself.
    pub cautions: Vec<String>,
    /// Where it comes from: label and value.
    pub provenance: Vec<(String, String)>,
}

/// A section.
#[derive(Clone, Debug)]
pub struct ReportSection {
    /// Its heading.
    pub heading: String,
    /// What stands in it.
    pub parts: Vec<ReportPart>,
}

/// A piece of a section.
#[derive(Clone, Debug)]
pub enum ReportPart {
    /// A paragraph.
    Text(String),
    /// A table.
    Table(ReportTable),
    /// A picture as SVG, with what it shows in words.
    Figure {
        /// The SVG.
        svg: String,
        /// In words.
        words: String,
    },
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
}
