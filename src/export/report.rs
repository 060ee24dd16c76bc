//! A report as one self-contained page: no network, no script; for screen, phone and print, light and dark.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::results::{Report, ReportPart, ReportTable};

const STYLE: &str = "
:root { color-scheme: light dark; --ink: #26323a; --paper: #fbfcfc; --pencil: #5a676e; --rule: #d5dee1; --note: #eef4f6; --warn: #b34700; }
@media (prefers-color-scheme: dark) {
  :root { --ink: #e4eaec; --paper: #14191c; --pencil: #a3b0b6; --rule: #39454b; --note: #1e272b; --warn: #ff9d5c; }
}
* { box-sizing: border-box; }
body { font: 1rem/1.5 sans-serif; color: var(--ink); background: var(--paper); max-width: 60rem; margin: 0 auto; padding: 1rem; }
h1 { font-size: 1.7rem; line-height: 1.2; margin: .5rem 0; }
h2 { font-size: 1.2rem; margin: 2rem 0 .5rem; border-bottom: 1px solid var(--rule); }
.question { color: var(--pencil); margin: 0; }
.answer { font-size: 1.15rem; background: var(--note); padding: .8rem 1rem; border-left: .3rem solid #0072b2; }
figure { margin: 1rem 0; background: #fff; border-radius: .3rem; padding: .3rem; overflow-x: auto; }
figure svg { display: block; width: 100%; min-width: 34rem; height: auto; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; font-variant-numeric: tabular-nums; margin: .5rem 0; }
caption { text-align: left; color: var(--pencil); padding: .2rem 0; }
th, td { padding: .2rem .8rem .2rem 0; text-align: right; border-bottom: 1px solid var(--rule); white-space: nowrap; }
th:first-child, td:first-child { text-align: left; }
tbody th { white-space: normal; }
.warning { border-left: .3rem solid var(--warn); padding-left: .8rem; margin: .6rem 0; }
.warning p { margin: 0; }
footer { font-size: .85rem; color: var(--pencil); margin-top: 2rem; border-top: 1px solid var(--rule); overflow-wrap: anywhere; }
footer table { white-space: normal; }
footer td, footer th { white-space: normal; text-align: left; vertical-align: top; border: 0; }
@media print {
  :root { --ink: #000; --paper: #fff; --pencil: #333; --rule: #999; --note: #f4f4f4; --warn: #000; }
  body { max-width: none; padding: 0; font-size: 10pt; }
  figure svg { min-width: 0; }
  figure, table, .warning { break-inside: avoid; }
  h2 { break-after: avoid; }
  @page { margin: 14mm; }
}
";

/// The report as a page.
#[must_use]
pub fn report_html(report: &Report) -> String {
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
                    h1 { (report.title) }
                    @if !report.question.is_empty() { p.question { (report.question) } }
                    p.answer { (report.answer) }
                    @for warning in &report.warnings {
                        div.warning {
                            p { strong { (sentence(&warning.text)) } }
                            p { "Try: " (warning.advice) "." }
                        }
                    }
                    @for section in &report.sections {
                        section {
                            h2 { (section.heading) }
                            @for part in &section.parts { (part_html(part)) }
                        }
                    }
                }
                footer {
                    @for caution in &report.cautions { p { (caution) } }
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

fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().collect::<String>() + letters.as_str() + ".")
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
    html! {
        div.wide tabindex="0" role="region" aria-label=(table.caption) {
            table {
                caption { (table.caption) }
                thead { tr { @for head in &table.head { th scope="col" { (head) } } } }
                tbody {
                    @for row in &table.rows {
                        tr {
                            @for (i, cell) in row.iter().enumerate() {
                                @if i == 0 { th scope="row" { (cell) } } @else { td { (cell) } }
                            }
                        }
                    }
                }
            }
        }
    }
}
