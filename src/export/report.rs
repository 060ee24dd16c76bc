//! A report as one self-contained page: no network, no script; for screen, phone and print, light and dark.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::results::{Report, ReportPart, ReportSection, ReportTable, Warning, as_sentence};

const STYLE: &str = "
:root { color-scheme: light dark; --ink: #26323a; --paper: #fbfcfc; --pencil: #5a676e; --rule: #d5dee1; --note: #eef4f6; --warn: #b34700; --yes: #00735c; --plain: #0072b2; }
@media (prefers-color-scheme: dark) {
  :root { --ink: #e4eaec; --paper: #14191c; --pencil: #a3b0b6; --rule: #39454b; --note: #1e272b; --warn: #ff9d5c; --yes: #4cc9a8; --plain: #6ab7ec; }
  /* A picture is drawn on white: turned over, its hues stay. */
  figure svg { filter: invert(.92) hue-rotate(180deg); }
}
* { box-sizing: border-box; }
body { font: 1rem/1.5 sans-serif; color: var(--ink); background: var(--paper); max-width: 60rem; margin: 0 auto; padding: 1rem; }
h1 { font-size: 1.7rem; line-height: 1.2; margin: .5rem 0; }
h2 { font-size: 1.2rem; margin: 2rem 0 .5rem; border-bottom: 1px solid var(--rule); }
.question, .about { color: var(--pencil); margin: 0; }
.answer { font-size: 1.15rem; background: var(--note); padding: .8rem 1rem; border-left: .3rem solid var(--plain); margin: .8rem 0; }
.answer p { margin: 0; }
.answer.no { border-color: var(--warn); }
.answer.yes { border-color: var(--yes); }
.answer strong { display: block; font-size: 1.4rem; line-height: 1.2; }
.answer.no strong { color: var(--warn); }
.answer.yes strong { color: var(--yes); }
.do { margin: .6rem 0 0; }
.todo { padding-left: 1.2rem; margin: .2rem 0 .8rem; }
.todo li { margin: .2rem 0; }
.todo li::marker { content: '\\25B6\\00A0'; font-size: .7em; color: var(--plain); }
figure { margin: 1rem 0; overflow: hidden; border-radius: .3rem; break-inside: avoid; }
figure svg { display: block; width: 100%; height: auto; }
.narrow { display: none; }
.more { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(24rem, 100%), 1fr)); gap: 0 1.2rem; align-items: start; }
.rest { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(22rem, 100%), 1fr)); gap: 0 2.4rem; align-items: start; }
.rest section { min-width: 0; }
.rest section.across { grid-column: 1 / -1; }
.wide { overflow-x: auto; background: linear-gradient(to left, var(--paper) 40%, transparent) right / 3rem 100% no-repeat local, linear-gradient(to left, color-mix(in srgb, var(--pencil) 50%, transparent), transparent) right / .9rem 100% no-repeat scroll; }
table.pairs, table.pairs tbody, table.pairs caption { display: block; }
table.pairs tbody { columns: 3 17rem; column-gap: 2rem; }
table.pairs td, table.pairs th { overflow-wrap: break-word; min-width: 0; }
table.pairs tr { display: flex; justify-content: space-between; break-inside: avoid; }
table.pairs thead { display: none; }
table { border-collapse: collapse; font-variant-numeric: tabular-nums; margin: .5rem 0; max-width: 100%; }
caption { text-align: left; color: var(--pencil); padding: .2rem 0; }
th, td { padding: .2rem .8rem .2rem 0; text-align: left; border-bottom: 1px solid var(--rule); vertical-align: top; overflow-wrap: break-word; }
th.n, td.n { text-align: right; }
th.write { width: 60%; }
table:has(.write) { width: 100%; }
table:has(.write) td, table:has(.write) tbody th { height: 2rem; vertical-align: bottom; }
tbody th { position: sticky; left: 0; background: var(--paper); }
main p { white-space: pre-line; }
td.n { white-space: nowrap; }
.warning { border-left: .3rem solid var(--warn); padding-left: .8rem; margin: .6rem 0; }
.warning p { margin: 0; }
footer .cautions { columns: 2 22rem; column-gap: 2.4rem; }
footer .cautions p { margin: 0 0 .4rem; break-inside: avoid; }
footer { font-size: .85rem; color: var(--pencil); margin-top: 2rem; border-top: 1px solid var(--rule); overflow-wrap: anywhere; }
footer td { border: 0; overflow-wrap: anywhere; } footer th { border: 0; overflow-wrap: normal; white-space: nowrap; }
@media (max-width: 34rem) {
  .big { display: none; } .narrow { display: block; }
}
@media (max-width: 30rem) { body { padding: .6rem; } th, td { padding-right: .5rem; font-size: .85rem; } }
@media print {
  :root { color-scheme: light; --ink: #000; --paper: #fff; --pencil: #333; --rule: #999; --note: #f4f4f4; --warn: #000; --yes: #000; --plain: #000; }
  body { max-width: none; padding: 0; font-size: 9pt; line-height: 1.3; }
  h1 { font-size: 15pt; margin: 0 0 1mm; }
  h2 { font-size: 11pt; margin: 3mm 0 1mm; break-after: avoid; }
  .answer { font-size: 11pt; padding: 2mm 3mm; margin: 2mm 0; }
  .answer strong { font-size: 15pt; }
  .wide { overflow: visible; background: none; }
  figure { margin: 2mm 0; }
  figure svg { filter: none; width: 100%; }
  .lead svg { max-height: 7.4cm; }
  .lead.tall svg { max-height: 17cm; }
  .big { display: block; } .narrow { display: none; }
  .more { grid-template-columns: 1fr 1fr; gap: 0 6mm; }
  .rest { grid-template-columns: 1fr 1fr; gap: 0 8mm; }
  table.pairs tbody { columns: 3; column-gap: 6mm; font-size: 7pt; }
  table { margin: 1mm 0; }
  th, td { padding: .2mm 2mm .2mm 0; }
  table:has(.write) td, table:has(.write) tbody th { height: 6mm; }
  .rest section:has(.write) { break-inside: avoid; }
  table.many { font-size: 7.5pt; }
  table.many th, table.many td { padding-right: 1mm; }
  table.many td.n { white-space: normal; }
  tr, .warning, .answer { break-inside: avoid; }
  footer { font-size: 7.5pt; margin-top: 3mm; }
  footer .cautions { columns: 2; column-gap: 8mm; }
  footer .cautions p { margin-bottom: .5mm; }
  @page { margin: 12mm; }
}
";

/// A picture as SVG, for a page and for a phone or half a page. Each carries its words.
#[derive(Clone, Debug)]
pub struct Figure {
    /// As it is drawn for a file.
    pub wide: String,
    /// As it is drawn for a narrow place.
    pub narrow: String,
    /// Whether it is about as high as wide, and needs the page's width to be read on paper.
    pub tall: bool,
}

/// Signs of the widest table that stands in half a page, and of the widest that stands in a whole one in ordinary letters.
const HALF: usize = 52;
/// See above.
const WHOLE: usize = 105;
/// Rows from which on a table of two columns is set in several columns.
const MANY_PAIRS: usize = 12;

fn is_pairs(table: &ReportTable) -> bool {
    table.head.len() == 2 && table.rows.len() >= MANY_PAIRS
}

/// Whether a section takes the whole width.
fn is_wide(section: &ReportSection) -> bool {
    section.parts.iter().any(|part| match part {
        ReportPart::Table(table) => table.signs() > HALF || is_pairs(table) || table.rows.len() > 3 * MANY_PAIRS,
        ReportPart::Text(_) => false,
    })
}

fn section_class(section: &ReportSection) -> Option<&'static str> {
    let signs = |part: &ReportPart| if let ReportPart::Text(text) = part { text.len() } else { 0 };
    let long = section.parts.iter().map(signs).sum::<usize>() > LONG_TEXT;
    match (long, is_wide(section)) {
        (true, _) | (_, true) => Some("across"),
        (false, false) => None,
    }
}

/// Signs from which on a text takes the whole width.
const LONG_TEXT: usize = 1500;

/// The report as a page: the answer, what to do, the first picture, the numbers, the other pictures, the rest.
#[must_use]
pub fn report_html(report: &Report, figures: &[Figure]) -> String {
    let (first, others) = figures.split_at(figures.len().min(1));
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (report.title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    @if !report.title.is_empty() { h1 { (report.title) } }
                    @if !report.question.is_empty() { p.question { (report.question) } }
                    @if !report.about.is_empty() { p.about { (report.about) } }
                    (answer_html(report))
                    @for figure in first { (figure_html(figure)) }
                    @for part in &report.numbers { (part_html(part, "")) }
                    @for warning in Warning::by_urgency(&report.warnings) { (warning_html(warning)) }
                    @if !others.is_empty() {
                        div.more { @for Figure { narrow, .. } in others { figure { (PreEscaped(inline(narrow))) } } }
                    }
                    div.rest {
                        @for section in &report.sections {
                            section class=[section_class(section)] {
                                h2 { (section.heading) }
                                @for part in &section.parts { (part_html(part, &section.heading)) }
                            }
                        }
                    }
                }
                footer {
                    div.cautions { @for caution in &report.cautions { p { "Caution: " (caution) } } }
                    table {
                        caption { "Where this comes from" }
                        tbody {
                            @for (label, value) in &report.provenance {
                                tr { th scope="row" { (label) } td { (value) } }
                            }
                        }
                    }
                }
            }
        }
    };
    page.into_string()
}

/// The answer in its box, yes and no in letters that are seen from afar, and what to do.
fn answer_html(report: &Report) -> Markup {
    let (class, word) = match report.verdict {
        Some(true) => ("answer yes", "Yes"),
        Some(false) => ("answer no", "No"),
        None => ("answer", ""),
    };
    // The answer begins with the same word: a word, and not the begin of `Not for certain`.
    let rest = report.answer.strip_prefix(word).filter(|rest| !word.is_empty() && rest.starts_with(['.', ',', ':']));
    let rest =
        rest.map(|rest| as_sentence(rest.trim_start_matches(['.', ',', ':', ' ']))).filter(|rest| !rest.is_empty());
    let (word, text) = rest.map_or_else(|| ("", report.answer.clone()), |rest| (word, rest));
    html! {
        div class=(class) {
            @if !word.is_empty() { strong { (word) } }
            p { (text) }
        }
        @if !report.todo.is_empty() {
            p.do { strong { "Do this" } }
            ul.todo aria-label="What to do" {
                @for action in &report.todo { li { (action.what) @for other in &action.or { div { "Or: " (other.what) } } } }
            }
        }
    }
}

fn warning_html(warning: &Warning) -> Markup {
    html! {
        div.warning {
            p { strong { "Warning: " (as_sentence(&warning.text)) } }
            p { (as_sentence(&warning.advice)) }
        }
    }
}

fn part_html(part: &ReportPart, heading: &str) -> Markup {
    match part {
        ReportPart::Text(text) => html! { p { (text) } },
        ReportPart::Table(table) => table_html(table, heading),
    }
}

/// The first picture, as wide as the page.
fn figure_html(figure: &Figure) -> Markup {
    html! {
        figure class=(if figure.tall { "lead tall" } else { "lead" }) {
            div.big { (PreEscaped(inline(&figure.wide))) }
            div.narrow { (PreEscaped(inline(&figure.narrow))) }
        }
    }
}

/// The SVG without its XML head, scaling with the page.
fn inline(svg: &str) -> &str {
    svg.find("<svg").map_or(svg, |at| &svg[at..])
}

fn table_html(table: &ReportTable, heading: &str) -> Markup {
    let name = if heading.is_empty() { table.caption.clone() } else { format!("{heading}: {}", table.caption) };
    let set = match (is_pairs(table), table.signs() > WHOLE) {
        (true, _) => Some("pairs"),
        (false, true) => Some("many"),
        (false, false) => None,
    };
    // A column without a word is written on by hand.
    let by_hand = |column: usize| !table.rows.is_empty() && table.rows.iter().all(|row| row[column].is_empty());
    let class = |column: usize| match column {
        0 => None,
        _ if by_hand(column) => Some("write"),
        _ => table.is_numbers(column).then_some("n"),
    };
    html! {
        div.wide tabindex="0" role="region" aria-label=(name) {
            table class=[set] {
                caption { (table.caption) }
                thead { tr { @for (i, head) in table.head.iter().enumerate() {
                    @if head.is_empty() { td {} } @else { th scope="col" class=[class(i)] { (head) } }
                } } }
                tbody {
                    @for row in &table.rows {
                        tr {
                            @for (i, cell) in row.iter().enumerate() {
                                @if i == 0 { th scope="row" { (cell) } } @else { td class=[class(i)] { (cell) } }
                            }
                        }
                    }
                }
            }
        }
    }
}
