//! A report as one self-contained page: no network, no script; for screen, phone and print, light and dark.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::results::{Report, ReportPart, ReportTable, Warning, as_sentence};

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
figure { margin: 1rem 0; overflow: hidden; border-radius: .3rem; }
figure svg { display: block; width: 100%; height: auto; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; font-variant-numeric: tabular-nums; margin: .5rem 0; max-width: 100%; }
caption { text-align: left; color: var(--pencil); padding: .2rem 0; }
th, td { padding: .2rem .8rem .2rem 0; text-align: left; border-bottom: 1px solid var(--rule); vertical-align: top; overflow-wrap: break-word; }
th.n, td.n { text-align: right; }
tbody th { position: sticky; left: 0; background: var(--paper); }
main p { white-space: pre-line; }
td.n { white-space: nowrap; }
.warning { border-left: .3rem solid var(--warn); padding-left: .8rem; margin: .6rem 0; }
.warning p { margin: 0; }
footer { font-size: .85rem; color: var(--pencil); margin-top: 2rem; border-top: 1px solid var(--rule); overflow-wrap: anywhere; }
footer td, footer th { border: 0; overflow-wrap: anywhere; }
@media (max-width: 30rem) { body { padding: .6rem; } th, td { padding-right: .5rem; font-size: .85rem; } }
@media print {
  :root { color-scheme: light; --ink: #000; --paper: #fff; --pencil: #333; --rule: #999; --note: #f4f4f4; --warn: #000; --yes: #000; --plain: #000; }
  body { max-width: none; padding: 0; font-size: 9.5pt; line-height: 1.35; }
  h1 { font-size: 15pt; }
  h2 { font-size: 11.5pt; margin-top: 1rem; break-after: avoid; }
  .wide { overflow: visible; }
  figure svg { filter: none; max-width: 100%; width: 13cm; }
  th, td { padding: .1rem .5rem .1rem 0; }
  figure, tr, .warning, .answer { break-inside: avoid; }
  @page { margin: 12mm; }
}
";

/// The report as a page: the answer, what to do, the first picture, the numbers, the other pictures, the rest.
#[must_use]
pub fn report_html(report: &Report, figures: &[ReportPart]) -> String {
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
                    @for part in first.iter().chain(&report.numbers) { (part_html(part)) }
                    @for warning in &report.warnings { (warning_html(warning)) }
                    @for part in others { (part_html(part)) }
                    @for section in &report.sections {
                        section {
                            h2 { (section.heading) }
                            @for part in &section.parts { (part_html(part)) }
                        }
                    }
                }
                footer {
                    @for caution in &report.cautions { p { "Caution: " (caution) } }
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
    // The answer begins with the same word: a word, and not the begin of `Not surely`.
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
                @for action in &report.todo { li { (action.what) @for other in &action.or { div { "Or: " (other) } } } }
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

fn part_html(part: &ReportPart) -> Markup {
    match part {
        ReportPart::Text(text) => html! { p { (text) } },
        ReportPart::Table(table) => table_html(table),
        // The picture carries its words as a label of its own.
        ReportPart::Figure { svg, .. } => html! { figure { (PreEscaped(inline(svg))) } },
    }
}

/// The SVG without its XML head, scaling with the page.
fn inline(svg: &str) -> &str {
    svg.find("<svg").map_or(svg, |at| &svg[at..])
}

fn table_html(table: &ReportTable) -> Markup {
    let class = |column: usize| (column > 0 && table.is_numbers(column)).then_some("n");
    html! {
        div.wide tabindex="0" role="region" aria-label=(table.caption) {
            table {
                caption { (table.caption) }
                thead { tr { @for (i, head) in table.head.iter().enumerate() { th scope="col" class=[class(i)] { (head) } } } }
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
