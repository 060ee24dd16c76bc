//! A parsed file with the place of every value, and overrides on top.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::source::Source;
use super::{Problem, Problems};

/// Largest scenario file that is read \[bytes\].
pub const MAX_BYTES: u64 = 1 << 20;

/// Most parts of a dotted key in an override. The deepest key of a file has six; what walks the tables goes as deep.
const MOST_PARTS: usize = 16;

/// A scenario file, parsed, with overrides put on top. Every value knows where it stands.
#[derive(Clone, Debug)]
pub struct Document {
    /// The file, then one source an override.
    pub(super) sources: Vec<Source>,
    pub(super) root: Table,
}

/// Where something stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Place {
    pub(super) source: usize,
    pub(super) span: Range<usize>,
}

/// Keys and values in the order of the file.
#[derive(Clone, Debug, Default)]
pub(super) struct Table {
    pub(super) entries: Vec<Entry>,
}

#[derive(Clone, Debug)]
pub(super) struct Entry {
    pub(super) key: String,
    pub(super) key_place: Place,
    pub(super) value: Node,
}

#[derive(Clone, Debug)]
pub(super) struct Node {
    pub(super) place: Place,
    pub(super) value: Value,
}

#[derive(Clone, Debug)]
pub(super) enum Value {
    Text(String),
    /// A number or date as it is written.
    Bare(String),
    Flag(bool),
    List(Vec<Node>),
    Table(Table),
}

impl Value {
    /// As it would be written after `KEY=`.
    pub(super) fn text(&self) -> String {
        match self {
            Self::Text(text) | Self::Bare(text) => text.clone(),
            Self::Flag(flag) => flag.to_string(),
            Self::List(items) => {
                let items: Vec<String> = items.iter().map(|i| i.value.text()).collect();
                format!("[{}]", items.join(", "))
            }
            Self::Table(_) => String::new(),
        }
    }

    pub(super) const fn kind(&self) -> &'static str {
        match self {
            Self::Text(_) => "text",
            Self::Bare(_) => "a bare number or date",
            Self::Flag(_) => "true or false",
            Self::List(_) => "a list",
            Self::Table(_) => "a table",
        }
    }
}

impl Table {
    /// Puts a value in a place, as an override does.
    pub(super) fn put(&mut self, path: &[String], place: &Place, value: Node) -> Result<(), String> {
        let parts: Vec<&str> = path.iter().map(String::as_str).collect();
        insert(self, &parts, place, value)
    }

    pub(super) fn get(&self, key: &str) -> Option<&Entry> {
        self.entries.iter().find(|e| e.key == key)
    }
}

/// An override that cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SetError {
    /// No `=` in it.
    #[error("--set `{0}` has no `=`: write KEY=VALUE, as in --set change.every=10d")]
    NoEquals(String),
    /// A key with an empty part.
    #[error("--set `{0}` has an empty key part: write dotted names, as in change.every")]
    EmptyKey(String),
    /// A key of more parts than any key here has.
    #[error(
        "--set `{start}…` has {parts} key parts, more than the {MOST_PARTS} that a key may have: write dotted names, as in change.every"
    )]
    TooDeep {
        /// How the key begins.
        start: String,
        /// Its parts.
        parts: usize,
    },
    /// A part of the key is a value, not a table.
    #[error("--set `{text}`: `{part}` is a value, so nothing can stand below it")]
    NotATable {
        /// The override.
        text: String,
        /// The part of its key.
        part: String,
    },
}

impl Document {
    /// Parses a file's text; all syntax errors at once.
    pub fn parse(name: &str, text: &str) -> Result<Self, Problems> {
        let sources = vec![Source { name: name.into(), text: text.into() }];
        let (table, errors) = DeTable::parse_recoverable(text);
        if !errors.is_empty() {
            let problems = errors
                .iter()
                .map(|e| {
                    let help = Some(remedy(e.message()).to_owned());
                    Problem::new(0, e.span().unwrap_or(0..0), e.message().to_owned(), help)
                })
                .collect();
            return Err(Problems::new(sources, problems));
        }
        Ok(Self { sources, root: convert_table(table.get_ref()) })
    }

    /// Name of the file.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.sources[0].name
    }

    /// Text of the file.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.sources[0].text
    }

    /// The document as a file of its own, overrides in their places; comments are lost.
    #[must_use]
    pub fn to_toml(&self) -> String {
        let mut text = String::new();
        write_table(&self.root, "", &mut text);
        text
    }

    /// Whether there is a table of this dotted name.
    #[must_use]
    pub fn has_table(&self, path: &str) -> bool {
        let mut table = &self.root;
        path.split('.').all(|part| match table.get(part).map(|e| &e.value.value) {
            Some(Value::Table(below)) => {
                table = below;
                true
            }
            _ => false,
        })
    }

    /// The text of a value, as it would be written after `KEY=`.
    #[must_use]
    pub fn given(&self, path: &str) -> Option<String> {
        let (tables, key) = path.rsplit_once('.').map_or((None, path), |(tables, key)| (Some(tables), key));
        let mut table = &self.root;
        for part in tables.into_iter().flat_map(|t| t.split('.')) {
            let Value::Table(below) = &table.get(part)?.value.value else { return None };
            table = below;
        }
        let value = &table.get(key)?.value.value;
        (!matches!(value, Value::Table(_))).then(|| value.text())
    }

    /// Whether it is the file of a station, and not a scenario.
    #[must_use]
    pub fn is_station(&self) -> bool {
        self.has_table("station")
    }

    /// Names of the tables below a table, in the order of the file.
    #[must_use]
    pub fn tables_below(&self, name: &str) -> Vec<&str> {
        let Some(Value::Table(table)) = self.root.get(name).map(|e| &e.value.value) else { return Vec::new() };
        let tables = table.entries.iter().filter(|e| matches!(e.value.value, Value::Table(_)));
        tables.map(|e| e.key.as_str()).collect()
    }

    /// Puts `KEY=VALUE` on top. A list is written `[a, b]`, and `TABLE=none` leaves a table out; everything
    /// else is taken as it stands.
    pub fn set(&mut self, text: &str) -> Result<(), SetError> {
        self.sources.push(Source { name: "--set".into(), text: text.into() });
        self.root.set(text, self.sources.len() - 1)
    }
}

impl Document {
    fn entry<S: AsRef<str>>(&self, key: &[S]) -> Option<&Entry> {
        let (last, tables) = key.split_last()?;
        let mut table = &self.root;
        for name in tables {
            let Value::Table(inner) = &table.get(name.as_ref())?.value.value else { return None };
            table = inner;
        }
        table.get(last.as_ref())
    }

    /// Whether a key is there.
    #[must_use]
    pub fn has_key(&self, key: &[&str]) -> bool {
        self.entry(key).is_some()
    }

    /// Whether a key was given by an override.
    #[must_use]
    pub(super) fn is_overridden(&self, key: &[String]) -> bool {
        self.entry(key).is_some_and(|e| e.value.place.source > 0)
    }

    /// The series that go by a file: name and file.
    #[must_use]
    pub fn series_files(&self) -> Vec<(String, String)> {
        let Some(Value::Table(all)) = self.root.get("series").map(|e| &e.value.value) else { return Vec::new() };
        let file = |entry: &Entry| {
            let Value::Table(table) = &entry.value.value else { return None };
            let Value::Text(file) = &table.get("file")?.value.value else { return None };
            (table.get("points").is_none()).then(|| (entry.key.clone(), file.clone()))
        };
        all.entries.iter().filter_map(file).collect()
    }

    /// Puts the points of a series in the place of its file.
    pub fn put_points(&mut self, series: &str, points: Vec<String>) {
        let all = self.root.entries.iter_mut().find(|e| e.key == "series");
        let Some(Value::Table(all)) = all.map(|e| &mut e.value.value) else { return };
        let own = all.entries.iter_mut().find(|e| e.key == series);
        let Some(Value::Table(table)) = own.map(|e| &mut e.value.value) else { return };
        let Some(file) = table.entries.iter_mut().find(|e| e.key == "file") else { return };
        let place = file.value.place.clone();
        let node = |text: String| Node { place: place.clone(), value: Value::Text(text) };
        file.key = "points".into();
        file.value.value = Value::List(points.into_iter().map(node).collect());
    }
}

impl Table {
    /// Puts `KEY=VALUE` on top, as [`Document::set`] does; `source` is where the text is kept.
    pub(super) fn set(&mut self, text: &str, source: usize) -> Result<(), SetError> {
        let (path, value) = text.split_once('=').ok_or_else(|| SetError::NoEquals(text.into()))?;
        let parts: Vec<&str> = path.split('.').map(str::trim).collect();
        if parts.iter().any(|p| p.is_empty()) {
            return Err(SetError::EmptyKey(text.into()));
        }
        if parts.len() > MOST_PARTS {
            return Err(SetError::TooDeep { start: path.chars().take(20).collect(), parts: parts.len() });
        }
        let start = path.len() + 1;
        let place = Place { source, span: start..text.len() };
        let trimmed = value.trim();
        let list = trimmed.strip_prefix('[').and_then(|t| t.strip_suffix(']'));
        let node = |text: &str| Node {
            place: place.clone(),
            value: match text {
                "true" => Value::Flag(true),
                "false" => Value::Flag(false),
                _ => Value::Text(text.trim_matches('"').to_owned()),
            },
        };
        let value = match list {
            Some(items) => Node {
                place: place.clone(),
                value: Value::List(items.split(',').map(str::trim).filter(|i| !i.is_empty()).map(node).collect()),
            },
            None => node(trimmed),
        };
        let key_place = Place { source, span: 0..path.len() };
        insert(self, &parts, &key_place, value).map_err(|part| SetError::NotATable { text: text.into(), part })
    }
}

/// What to do about a text that is no TOML.
fn remedy(message: &str) -> &'static str {
    if message.contains("duplicate") {
        "a key or table stands once: keep one of the two"
    } else if message.contains("recursion") {
        "nothing here is written deeper than [doses.NAME]: take the outer brackets or dots away"
    } else {
        "write KEY = \"VALUE\" on a line, below a table's [NAME]; example: volume = \"400 L\" below [tank]"
    }
}

/// Keys of one table that exclude each other.
const INSTEAD: [&[&str]; 2] = [&["every", "on", "dates", "when"], &["rate", "room", "table"]];

fn insert(table: &mut Table, parts: &[&str], key_place: &Place, value: Node) -> Result<(), String> {
    let Some((first, rest)) = parts.split_first() else { return Ok(()) };
    if rest.is_empty() {
        // One way of saying it replaces the others, so that any way can be tried on any scenario.
        if let Some(group) = INSTEAD.iter().find(|group| group.contains(first)) {
            table.entries.retain(|e| e.key == *first || !group.contains(&e.key.as_str()));
            // What goes by a reading goes with it.
            if group.contains(&"when") && *first != "when" {
                table.entries.retain(|e| e.key != "down_to");
            }
        }
        let position = table.entries.iter().position(|e| e.key == *first);
        // Without this table a float tops off for ever: who takes top-off away means that nobody does.
        let value = if *first == "top_off" && matches!(&value.value, Value::Text(t) if t == "none") {
            let by = Entry { key: "by".into(), key_place: key_place.clone(), value: value.clone() };
            Node { value: Value::Table(Table { entries: vec![by] }), ..value }
        } else {
            value
        };
        match position {
            Some(i) if matches!((&table.entries[i].value.value, &value.value), (Value::Table(_), Value::Text(t)) if t == "none") =>
            {
                table.entries.remove(i);
            }
            Some(i) => table.entries[i].value = value,
            None => table.entries.push(Entry { key: (*first).into(), key_place: key_place.clone(), value }),
        }
        return Ok(());
    }
    // The climate of a room stands for the rate, as above; only a value is replaced, never a table of that name.
    if *first == "room" {
        table.entries.retain(|e| e.key != "rate" || matches!(e.value.value, Value::Table(_)));
    }
    let position = table.entries.iter().position(|e| e.key == *first);
    let i = position.unwrap_or_else(|| {
        let value = Node { place: key_place.clone(), value: Value::Table(Table::default()) };
        table.entries.push(Entry { key: (*first).into(), key_place: key_place.clone(), value });
        table.entries.len() - 1
    });
    match &mut table.entries[i].value.value {
        Value::Table(below) => insert(below, rest, key_place, value),
        _ => Err((*first).into()),
    }
}

/// Writes the values of a table, then the tables below it under their own heads.
fn write_table(table: &Table, path: &str, text: &mut String) {
    let below = |e: &Entry| matches!(e.value.value, Value::Table(_));
    for entry in table.entries.iter().filter(|e| !below(e)) {
        *text += &format!("{} = {}\n", quoted_key(&entry.key), written(&entry.value.value));
    }
    for entry in table.entries.iter().filter(|e| below(e)) {
        let Value::Table(inner) = &entry.value.value else { continue };
        let path = if path.is_empty() { quoted_key(&entry.key) } else { format!("{path}.{}", quoted_key(&entry.key)) };
        *text += &format!("\n[{path}]\n");
        write_table(inner, &path, text);
    }
}

fn quoted_key(key: &str) -> String {
    let bare = !key.is_empty() && key.chars().all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-');
    if bare { key.into() } else { quoted(key) }
}

fn quoted(text: &str) -> String {
    toml::Value::String(text.into()).to_string()
}

fn written(value: &Value) -> String {
    match value {
        Value::Text(text) => quoted(text),
        Value::Bare(text) => text.clone(),
        Value::Flag(flag) => flag.to_string(),
        Value::List(items) => {
            let items: Vec<String> = items.iter().map(|i| written(&i.value)).collect();
            format!("[{}]", items.join(", "))
        }
        Value::Table(_) => String::new(),
    }
}

fn convert_table(table: &DeTable<'_>) -> Table {
    let mut entries: Vec<Entry> = table
        .iter()
        .map(|(key, value)| Entry {
            key: key.get_ref().to_string(),
            key_place: Place { source: 0, span: key.span() },
            value: convert(value),
        })
        .collect();
    entries.sort_by_key(|e| e.key_place.span.start);
    Table { entries }
}

fn convert(value: &Spanned<DeValue<'_>>) -> Node {
    let converted = match value.get_ref() {
        DeValue::String(s) => Value::Text(s.to_string()),
        DeValue::Integer(i) => Value::Bare(i.as_str().to_owned()),
        DeValue::Float(f) => Value::Bare(f.as_str().to_owned()),
        DeValue::Boolean(flag) => Value::Flag(*flag),
        DeValue::Datetime(d) => Value::Bare(d.to_string()),
        DeValue::Array(items) => Value::List(items.iter().map(convert).collect()),
        DeValue::Table(table) => Value::Table(convert_table(table)),
    };
    Node { place: Place { source: 0, span: value.span() }, value: converted }
}
