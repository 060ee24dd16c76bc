//! The batch card: one page to hang at the vessel, that prints on one side.

use crate::results::Card;

const STYLE: &str = "
:root { color-scheme: light dark; }
body { font: 1.05rem/1.45 sans-serif; max-width: 46rem; margin: 1.5rem auto; padding: 0 1rem; }
h1 { font-size: 1.7rem; margin: 0 0 .6rem; }
h2 { font-size: 1.1rem; margin: 1rem 0 .2rem; border-bottom: 1px solid currentColor; }
table { border-collapse: collapse; width: 100%; }
th { text-align: left; font-weight: normal; width: 38%; padding: .1rem .6rem .1rem 0; vertical-align: top; }
td { font-weight: bold; padding: .1rem 0; }
.lines { display: grid; grid-template-columns: repeat(auto-fill, minmax(15rem, 1fr)); gap: .5rem 1.5rem; margin: .4rem 0; padding: 0; list-style: none; }
.lines li { display: flex; gap: .5rem; align-items: end; min-height: 1.9rem; }
.lines li::after { content: ''; flex: 1; border-bottom: 1px solid currentColor; }
.lines li.known::after { border: 0; }
ul.boxes { list-style: none; padding: 0; columns: 2; }
ul.boxes li::before { content: '\\2610'; padding-right: .5rem; }
footer { font-size: .8rem; margin-top: 1rem; }
@media print { body { margin: 0; max-width: none; font-size: 9pt; line-height: 1.2; } h1 { font-size: 14pt; } h2 { font-size: 10.5pt; margin: .5rem 0 .1rem; } .lines { gap: 0 1.5rem; margin: .1rem 0; } .lines li { min-height: 1.3rem; } footer { font-size: 7.5pt; margin-top: .4rem; columns: 2; } footer p { margin: .1rem 0; } @page { margin: 12mm; } }
";

/// The card as one self-contained page.
#[must_use]
pub fn card_html(card: &Card) -> String {
    let title = super::escape(&card.title);
    let mut out = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{title}</title>\n\
         <style>{STYLE}</style>\n</head>\n<body>\n<main>\n<h1>{title}</h1>\n<ul class=\"lines\">\n"
    );
    out += &match &card.tank {
        Some(tank) => format!("<li class=\"known\">Tank: {}</li>\n", super::escape(tank)),
        None => "<li>Tank</li>\n".to_owned(),
    };
    out += "<li>Date</li>\n</ul>\n";
    for part in &card.parts {
        out += &format!("<h2>{}</h2>\n<table>\n", super::escape(&part.heading));
        for (label, value) in &part.lines {
            out +=
                &format!("<tr><th scope=\"row\">{}</th><td>{}</td></tr>\n", super::escape(label), super::escape(value));
        }
        out += "</table>\n";
    }
    out += "<h2>Before use</h2>\n<ul class=\"lines\">\n";
    for text in &card.to_write {
        out += &format!("<li>{}</li>\n", super::escape(text));
    }
    out += "</ul>\n<ul class=\"boxes\">\n";
    for text in &card.boxes {
        out += &format!("<li>{}</li>\n", super::escape(text));
    }
    out += "</ul>\n</main>\n<footer>\n";
    for caution in &card.cautions {
        out += &format!("<p>{}</p>\n", super::escape(caution));
    }
    out + "</footer>\n</body>\n</html>\n"
}
