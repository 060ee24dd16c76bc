//! Pictures read back from their files: all text stands within the picture and meets no other, a straight line is straight,
//! axes tell dates of the calendar, headlines tell the finding.

use std::fs;
use std::path::{Path, PathBuf};

use ab_glyph::{Font, FontRef, ScaleFont};
use brinecast::chart::{Line, Picture, Series};
use brinecast::export::svg;

use super::cli::{brinecast, split, stderr};

/// A text of an SVG with the box that it takes, in steps of the drawing.
struct Text {
    said: String,
    /// Left, top, right, bottom.
    edges: [f64; 4],
}

/// Width of a text, measured with the font's own advances: a second way beside the one that the pictures use.
fn width(text: &str, em: f64, bold: bool) -> f64 {
    let bytes = if bold { dejavu::sans::bold() } else { dejavu::sans::regular() };
    let font = FontRef::try_from_slice(bytes).unwrap();
    let units = f64::from(font.units_per_em().unwrap());
    let font = font.as_scaled(font.height_unscaled());
    let advance: f32 = text.chars().map(|c| font.h_advance(font.glyph_id(c))).sum();
    f64::from(advance) / units * em
}

fn texts(file: &str) -> (Vec<Text>, f64, f64) {
    let document = roxmltree::Document::parse(file).unwrap();
    let svg = document.root_element();
    let frame: Vec<f64> = svg.attribute("viewBox").unwrap().split(' ').map(|n| n.parse().unwrap()).collect();
    let number = |node: &roxmltree::Node, name: &str| node.attribute(name).unwrap().parse::<f64>().unwrap();
    let texts = svg
        .descendants()
        .filter(|n| n.has_tag_name("text"))
        .map(|n| {
            let said = n.text().unwrap().trim().to_owned();
            assert!(n.attribute("transform").is_none(), "`{said}` is turned: read it with the head on the side");
            let em = number(&n, "font-size");
            let wide = width(&said, em, n.attribute("font-weight") == Some("bold"));
            let left = number(&n, "x")
                - match n.attribute("text-anchor").unwrap() {
                    "start" => 0.0,
                    "middle" => wide / 2.0,
                    _ => wide,
                };
            // Letters without the empty space above and below them.
            let top = number(&n, "y") + if n.attribute("dy") == Some("0.76em") { 0.08 * em } else { -0.45 * em };
            Text { said, edges: [left, top, left + wide, top + 0.86 * em] }
        })
        .collect();
    (texts, frame[2], frame[3])
}

fn pictures_in(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(pictures_in(&path));
        } else if path.extension().is_some_and(|e| e == "svg" || e == "html") {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// Commands that draw, on tanks that differ: with dates and without, metric and not, settled and not.
const DRAWING: [&str; 30] = [
    "run mixed-reef",
    "run nano-by-hand",
    "run laboratory-raceway",
    "run fortnight-away",
    "run new-tank-cycling",
    "run heavy-fish-load",
    "run dry-winter",
    "run low-salinity-quarantine",
    "run two-part-dosing",
    "run continuous-exchange --set run=5000d",
    "run mixed-reef --set run=12d --show-salinity \"sg 25C/25C\"",
    "sweep heavy-fish-load --over change.every=7d..56d:8 --over change.amount=5%..60%:8",
    "sweep mixed-reef --over change.every=3d..28d:8 --over change.amount=5%..50%:8",
    "sweep mixed-reef --over change.every=28d..7d:4 --over change.amount=10%,20%",
    "sweep mixed-reef --over change.amount=5%..50%:8",
    "choose heavy-fish-load",
    "choose uncertain-reef",
    "solve mixed-reef --for waters.salt_water.salinity=33psu..40psu --so-that settled.salinity.mean=35psu",
    "compare mixed-reef --case a:change.amount=20% --case b:change.amount=30% --case c:change.amount=40%",
    "away uncertain-reef --members 300",
    "away mixed-reef --members 100",
    "faults mixed-reef",
    "faults laboratory-raceway",
    "ensemble uncertain-reef --members 40",
    "sensitivity uncertain-reef --samples 8",
    "station --members 200",
    "station service-round --members 200",
    "fit my-tank.toml --log my-log.csv",
    "now my-tank.toml --log my-log.csv",
    "recipe batches.csv --finished 60L",
];

#[test]
fn no_text_leaves_its_picture_or_meets_another() {
    let folder = tempfile::tempdir().unwrap();
    super::logs::write_demo_logs(folder.path());
    fs::write(folder.path().join("my-tank.toml"), super::logs::BELIEVED).unwrap();
    for (k, command) in DRAWING.iter().enumerate() {
        let out = format!("out-{k}");
        let words = split(command);
        let args: Vec<&str> = words.iter().map(String::as_str).chain(["--out", &out, "-q"]).collect();
        let output = brinecast(folder.path(), &args);
        assert!(output.status.success(), "{command}: {}", stderr(&output));
        assert!(!pictures_in(&folder.path().join(&out)).is_empty(), "{command} draws nothing");
    }
    let mut wrong = Vec::new();
    let files = pictures_in(folder.path());
    // The pages hold narrow pictures for phones besides.
    let mut drawn: Vec<(PathBuf, String)> = Vec::new();
    for path in &files {
        let text = fs::read_to_string(path).unwrap();
        match path.extension().and_then(|e| e.to_str()) {
            Some("html") => drawn.extend(text.split("<svg").skip(1).map(|rest| {
                let rest = rest.split("</svg>").next().unwrap();
                (path.clone(), format!("<svg{rest}</svg>"))
            })),
            _ => drawn.push((path.clone(), text)),
        }
    }
    for (path, text) in &drawn {
        let (texts, wide, high) = texts(text);
        let parts: Vec<String> = path.iter().rev().take(2).map(|p| p.to_string_lossy().into_owned()).collect();
        let of = parts[1].strip_prefix("out-").and_then(|k| DRAWING.get(k.parse::<usize>().ok()?)).unwrap();
        let name = format!("{of}: {}", parts[0]);
        assert!(texts.len() > 1, "{name} says nothing");
        for (i, a) in texts.iter().enumerate() {
            let [left, top, right, bottom] = a.edges;
            if left < 0.0 || top < 0.0 || right > wide || bottom > high {
                wrong.push(format!("{name}: `{}` leaves the picture", a.said));
            }
            for b in &texts[i + 1..] {
                let meets = a.edges[0] < b.edges[2]
                    && b.edges[0] < a.edges[2]
                    && a.edges[1] < b.edges[3]
                    && b.edges[1] < a.edges[3];
                if meets {
                    wrong.push(format!("{name}: `{}` meets `{}`", a.said, b.said));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{} pictures\n{}", drawn.len(), wrong.join("\n"));
    assert!(drawn.len() > 200, "only {} pictures", drawn.len());
}

/// A ramp of ten thousand points has one slope: no point lies off the line between its ends by more than half a step of
/// the drawing, a two-hundredth of a pixel.
#[test]
fn a_straight_ramp_has_one_slope() {
    let points: Vec<(f64, f64)> = (0..=3000).map(|k| (f64::from(k), 30.0 + 0.0013 * f64::from(k))).collect();
    let lines = vec![Line::new("ramp", points)];
    let text = svg(&Picture::Series(Series { lines, ..Series::default() })).unwrap();
    let document = roxmltree::Document::parse(&text).unwrap();
    let longest = document
        .descendants()
        .filter(|n| n.has_tag_name("polyline"))
        .filter_map(|n| n.attribute("points"))
        .max_by_key(|points| points.len())
        .unwrap();
    let drawn: Vec<(f64, f64)> = longest
        .split_whitespace()
        .map(|p| p.split_once(',').unwrap())
        .map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap()))
        .collect();
    assert!(drawn.len() > 2000);
    let (first, last) = (drawn[0], drawn[drawn.len() - 1]);
    let slope = (last.1 - first.1) / (last.0 - first.0);
    for (x, y) in drawn {
        // Both coordinates are cut to whole steps.
        let off = (y - first.1 - slope * (x - first.0)).abs();
        assert!(off <= 1.0 + slope.abs(), "{off} steps of a hundredth of a pixel off the line");
    }
}
