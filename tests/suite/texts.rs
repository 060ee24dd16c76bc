//! Texts for fuzzing: odd numbers and units, texts of any kind, and files changed at random. All are invented.

use proptest::prelude::*;
use proptest::sample::{Index, select};

/// Numbers that a hand, a spreadsheet or another program may leave.
pub(crate) const NUMBERS: &[&str] = &[
    "0",
    "-0",
    "-1",
    "1",
    "3",
    "0.5",
    "1e308",
    "-1e308",
    "1.7976931348623157e308",
    "1e-308",
    "5e-324",
    "NaN",
    "nan",
    "inf",
    "-inf",
    "1e400",
    "0x10",
    "1_000",
    "1,5",
    "1.000,5",
    "１２",
    "٣",
    "99999999999999999999",
    "0.1.2",
    "+-1",
    "1e",
    "1e+",
    ".",
    "-",
    "1e9",
    "1e15",
    "1e-15",
    "1e150",
    "",
    "true",
    "2026-02-30",
    "12:61",
];

/// Units, right and wrong.
const UNITS: &[&str] = &[
    "",
    "L",
    "mL",
    "m3",
    "gal",
    "US gal",
    "imp gal",
    "kg",
    "g",
    "oz",
    "t",
    "d",
    "h",
    "s",
    "min",
    "week",
    "year",
    "C",
    "F",
    "K",
    "°F",
    "L/d",
    "L/h",
    "gpd",
    "g/d",
    "lb/week",
    "%",
    "%/d",
    "/d",
    "/d/d",
    "%/",
    " per d",
    "1/h",
    "cm",
    "in2",
    "m/s",
    "psi",
    "W",
    "kWh",
    "g/mL",
    "psu",
    "ppt",
    "‰",
    "g/kg",
    "g/L",
    "sg",
    "sg 25C/25C",
    "sg /",
    "sg 1e300C/4C",
    "mS/cm",
    "n",
    "kg/m3",
    "mg/L",
    "ug/L",
    "µg/L",
    "ppb",
    "ppm CaCO3",
    "dKH",
    "meq/L",
    "mg/L NO3-N",
    "mg/L/d",
    "parsec",
    "µ",
    "°",
    "🐟",
    "\u{0}",
    "\u{200b}L",
    "L\u{301}",
    "to 3 L",
    "%, 3 d",
    "EUR/kg",
    "min/20 L",
];

/// A number, or what stands in its place, with a unit or what stands in its place.
pub(crate) fn quantity() -> impl Strategy<Value = String> {
    let number = prop_oneof![
        3 => select(NUMBERS).prop_map(str::to_owned),
        2 => any::<f64>().prop_map(|v| v.to_string()),
        2 => (-1e6..1e6f64).prop_map(|v| format!("{v:.3}")),
    ];
    (number, select(&["", " ", "  ", "\t"][..]), select(UNITS)).prop_map(|(n, gap, unit)| format!("{n}{gap}{unit}"))
}

/// A text of any kind: letters of all scripts, bytes mended to text, or pieces of the formats read here.
pub(crate) fn text() -> impl Strategy<Value = String> {
    let pieces = &[
        "=",
        ".",
        "..",
        ",",
        ":",
        "(",
        ")",
        "[",
        "]",
        "[[",
        "{",
        "}",
        "\"",
        "'",
        "\"\"\"",
        "#",
        "\n",
        "\r\n",
        " ",
        "/",
        "-",
        "%",
        "normal",
        "lognormal",
        "uniform",
        "triangular",
        "one-of",
        "settled",
        "nitrate",
        "salinity",
        "peak",
        "outside",
        "tank",
        "volume",
        "change",
        "every",
        "format",
        "1",
        "1e308",
        "-7",
        "400 L",
        "7 d",
        "below ",
        " to ",
        "above ",
        "\u{feff}",
        "\u{0}",
        "é",
        "mixed-reef",
    ][..];
    prop_oneof![
        "\\PC{0,60}",
        prop::collection::vec(any::<u8>(), 0..120).prop_map(|b| String::from_utf8_lossy(&b).into_owned()),
        prop::collection::vec(select(pieces), 0..24).prop_map(|p| p.concat()),
        quantity(),
    ]
}

/// One change of a text.
#[derive(Clone, Debug)]
pub(crate) enum Edit {
    DropLine(Index),
    RepeatLine(Index, Index),
    SwapLines(Index, Index),
    DropToken(Index),
    RepeatToken(Index, Index),
    SwapTokens(Index, Index),
    Value(Index, String),
    Number(Index, f64),
    Insert(Index, String),
    Cut(Index),
    Nest(Index, usize),
}

pub(crate) fn edits() -> impl Strategy<Value = Vec<Edit>> {
    let at = any::<Index>;
    let edit = prop_oneof![
        1 => at().prop_map(Edit::DropLine),
        1 => (at(), at()).prop_map(|(a, b)| Edit::RepeatLine(a, b)),
        1 => (at(), at()).prop_map(|(a, b)| Edit::SwapLines(a, b)),
        1 => at().prop_map(Edit::DropToken),
        1 => (at(), at()).prop_map(|(a, b)| Edit::RepeatToken(a, b)),
        1 => (at(), at()).prop_map(|(a, b)| Edit::SwapTokens(a, b)),
        8 => (at(), quantity()).prop_map(|(a, q)| Edit::Value(a, q)),
        8 => (at(), -14.0..15.0f64).prop_map(|(a, e)| Edit::Number(a, 10f64.powf(e))),
        1 => (at(), text()).prop_map(|(a, t)| Edit::Insert(a, t)),
        1 => at().prop_map(Edit::Cut),
        1 => (at(), 1usize..3000).prop_map(|(a, n)| Edit::Nest(a, n)),
    ];
    prop::collection::vec(edit, 1..5)
}

/// The text in tokens: runs of letters and digits, and single characters between them.
fn tokens(text: &str) -> Vec<&str> {
    let mut found = Vec::new();
    let mut begin = 0;
    for (at, c) in text.char_indices() {
        if !c.is_alphanumeric() && c != '_' {
            found.extend((begin < at).then(|| &text[begin..at]));
            found.push(&text[at..at + c.len_utf8()]);
            begin = at + c.len_utf8();
        }
    }
    found.extend((begin < text.len()).then(|| &text[begin..]));
    found
}

/// Moves an item of a list: drops it, repeats it elsewhere, or swaps it.
fn shuffle(mut items: Vec<&str>, from: Index, to: Option<Index>, swap: bool) -> Vec<&str> {
    if items.is_empty() {
        return items;
    }
    let a = from.index(items.len());
    match to.map(|i| i.index(items.len())) {
        None => drop(items.remove(a)),
        Some(b) if swap => items.swap(a, b),
        Some(b) => items.insert(b, items[a]),
    }
    items
}

/// Where a value of the file begins and ends.
fn value_at(text: &str, at: Index) -> Option<(usize, usize)> {
    let values: Vec<usize> = text.match_indices(" = ").map(|(i, _)| i + 3).collect();
    let begin = *values.get(at.index(values.len().max(1)))?;
    Some((begin, text[begin..].find('\n').map_or(text.len(), |n| begin + n)))
}

/// The text with the changes made, one after the other.
pub(crate) fn edited(text: &str, edits: &[Edit]) -> String {
    let mut text = text.to_owned();
    for edit in edits {
        let lines = || text.split_inclusive('\n').collect::<Vec<_>>();
        let boundary = |at: &Index| {
            let ends: Vec<usize> = text.char_indices().map(|(i, _)| i).chain([text.len()]).collect();
            ends[at.index(ends.len())]
        };
        text = match edit {
            Edit::DropLine(a) => shuffle(lines(), *a, None, false).concat(),
            Edit::RepeatLine(a, b) => shuffle(lines(), *a, Some(*b), false).concat(),
            Edit::SwapLines(a, b) => shuffle(lines(), *a, Some(*b), true).concat(),
            Edit::DropToken(a) => shuffle(tokens(&text), *a, None, false).concat(),
            Edit::RepeatToken(a, b) => shuffle(tokens(&text), *a, Some(*b), false).concat(),
            Edit::SwapTokens(a, b) => shuffle(tokens(&text), *a, Some(*b), true).concat(),
            Edit::Value(a, value) => {
                let Some((begin, end)) = value_at(&text, *a) else { continue };
                format!("{}{}{}", &text[..begin], toml::Value::String(value.clone()), &text[end..])
            }
            Edit::Number(a, number) => {
                let Some((begin, end)) = value_at(&text, *a) else { continue };
                let old = text[begin..end].trim_matches('"');
                let unit = old.trim_start_matches(|c: char| c.is_ascii_digit() || ".-".contains(c));
                format!("{}\"{number:e}{unit}\"{}", &text[..begin], &text[end..])
            }
            Edit::Insert(a, piece) => {
                let at = boundary(a);
                format!("{}{piece}{}", &text[..at], &text[at..])
            }
            Edit::Cut(a) => text[..boundary(a)].to_owned(),
            Edit::Nest(a, depth) => {
                let at = boundary(a);
                let (open, close) = [("[", "]"), ("{a=", "}"), ("a.", ""), ("[[a]]\n", "")][depth % 4];
                format!("{}{}{}{}", &text[..at], open.repeat(*depth), close.repeat(*depth), &text[at..])
            }
        };
    }
    text
}
