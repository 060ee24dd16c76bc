//! Reports on paper: printed to PDF by a real browser, and read back from it.
//!
//! They need chromium, chromedriver and pdftotext, which `.ci/run` installs; `cargo test -- --ignored` runs them.

use std::fs;
use std::path::Path;
use std::process::Command;

use super::cli::{brinecast, split, stderr};
use super::webdriver::Browser;

/// A page of a PDF: its width and height, and every word with its left, top, right and bottom edge.
struct Sheet {
    size: [f64; 2],
    words: Vec<(String, [f64; 4])>,
}

fn read_back(pdf: &Path) -> Vec<Sheet> {
    let output = Command::new("pdftotext").args(["-bbox", pdf.to_str().unwrap(), "-"]).output().expect("pdftotext");
    assert!(output.status.success());
    let text = String::from_utf8(output.stdout).unwrap();
    let number = |line: &str, name: &str| -> f64 {
        line.split(&format!("{name}=\"")).nth(1).unwrap().split('"').next().unwrap().parse().unwrap()
    };
    let mut sheets: Vec<Sheet> = Vec::new();
    for line in text.lines().map(str::trim) {
        if line.starts_with("<page ") {
            sheets.push(Sheet { size: [number(line, "width"), number(line, "height")], words: Vec::new() });
        } else if line.starts_with("<word ") {
            let word = line.split('>').nth(1).unwrap().split('<').next().unwrap();
            let word = plain(word);
            let edges = ["xMin", "yMin", "xMax", "yMax"].map(|name| number(line, name));
            sheets.last_mut().unwrap().words.push((word, edges));
        }
    }
    sheets
}

/// A text without the marks of XML.
fn plain(text: &str) -> String {
    let marks = [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&apos;", "'"), ("&#39;", "'"), ("&amp;", "&")];
    marks.iter().fold(text.to_owned(), |text, (mark, sign)| text.replace(mark, sign))
}

/// Begin and end of a text: a long one may go on in the next column.
fn ends(text: &str) -> [String; 2] {
    let signs: Vec<char> = text.chars().collect();
    let part = signs.len().min(40);
    [signs[..part].iter().collect(), signs[signs.len() - part..].iter().collect()]
}

/// Letters and digits alone: how words are broken and joined on paper is no matter.
fn bare(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).collect()
}

/// Commands with a page, and how many sheets it may take.
const PRINTED: [(&str, &str, usize); 15] = [
    ("run mixed-reef", "report.html", 3),
    ("run laboratory-raceway", "report.html", 3),
    ("run nano-by-hand", "report.html", 3),
    ("faults mixed-reef", "faults.html", 5),
    ("station --members 200", "station.html", 4),
    ("choose heavy-fish-load", "choose.html", 2),
    ("away uncertain-reef --members 200", "away.html", 2),
    ("sweep mixed-reef --over change.amount=10%..40%:4", "sweep.html", 2),
    ("compare mixed-reef --case \"a: change.amount=20%\"", "compare.html", 3),
    ("plan mixed-reef", "plan.html", 3),
    ("plan mixed-reef", "card.html", 1),
    ("station service-round --members 200", "round.html", 2),
    ("drift mixed-reef", "drift.html", 2),
    ("fit my-tank.toml --log my-log.csv", "fit.html", 3),
    ("now my-tank.toml --log my-log.csv", "now.html", 2),
];

#[test]
#[ignore = "needs chromium, chromedriver and pdftotext: .ci/run installs them"]
fn reports_are_whole_on_paper() {
    let folder = tempfile::tempdir().unwrap();
    super::logs::write_demo_logs(folder.path());
    fs::write(folder.path().join("my-tank.toml"), super::logs::BELIEVED).unwrap();
    let browser = Browser::start(1280, 900, false);
    let mut wrong = Vec::new();
    for (k, (command, page, most)) in PRINTED.iter().enumerate() {
        let out = folder.path().join(format!("out-{k}"));
        let words = split(command);
        let args: Vec<&str> = words.iter().map(String::as_str).chain(["--out", out.to_str().unwrap(), "-q"]).collect();
        let output = brinecast(folder.path(), &args);
        assert!(output.status.success(), "{command}: {}", stderr(&output));
        let html = fs::read_to_string(out.join(page)).unwrap();
        browser.open(&format!("file://{}", out.join(page).display()));
        // A4, and US Letter.
        for (width, height) in [(21.0, 29.7), (21.59, 27.94)] {
            let pdf = out.join("page.pdf");
            fs::write(&pdf, browser.print(width, height)).unwrap();
            let sheets = read_back(&pdf);
            if sheets.len() > *most {
                wrong.push(format!("{command}: {} sheets of {width} cm, {most} at most", sheets.len()));
            }
            for sheet in &sheets {
                let off = |edges: &[f64; 4]| {
                    edges[0] < 10.0 || edges[1] < 10.0 || edges[2] > sheet.size[0] - 10.0 || edges[3] > sheet.size[1]
                };
                for (word, edges) in sheet.words.iter().filter(|(_, edges)| off(edges)) {
                    wrong.push(format!("{command}: `{word}` is off the sheet of {width} cm: {edges:?}"));
                }
            }
            let all: Vec<&str> = sheets.iter().flat_map(|s| &s.words).map(|(word, _)| &**word).collect();
            let all = bare(&all.concat());
            // Every cell, head and paragraph of the page stands on the paper.
            for piece in ["<td", "<th ", "<p", "<h1", "<h2", "<li"].iter().flat_map(|tag| html.split(tag).skip(1)) {
                let inner = piece.split_once('>').unwrap().1.split('<').next().unwrap();
                let inner = plain(inner);
                // Heads of a long list of pairs are told by its caption.
                // A cell of two lines stands beside those of its neighbours: then its words alone are looked for.
                let words = || inner.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty());
                let lost = ends(&bare(&inner)).iter().any(|end| !all.contains(end.as_str()))
                    && (inner.len() > 60 || words().any(|word| !all.contains(word)));
                if lost && !["key", "value taken"].contains(&&*inner) {
                    wrong.push(format!("{command}: `{inner}` is missing on paper of {width} cm"));
                }
            }
        }
    }
    wrong.dedup();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
