//! Walking a document: sections, what was asked for, what is left over.

use std::borrow::Cow;
use std::cell::{Cell, RefCell};

use super::document::{Document, Entry, Node, Place, Table, Value};
use super::{NAME_HELP, Problem, Problems, check_name};
use crate::results::Assumed;
use crate::units::Gallon;

/// A key that scenario files may have.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyInfo {
    /// Dotted, with `NAME` for a name of the user's own.
    pub path: String,
    /// What it means.
    pub doc: &'static str,
    /// The kind of value: `a volume`, `one of …`.
    pub kind: String,
    /// A value as one would type it.
    pub example: String,
    /// The value taken where the key is absent.
    pub default: Option<String>,
    /// The words that may stand there, where only some may.
    pub choices: Vec<String>,
    /// How the value is written.
    pub shape: Shape,
}

/// How a value is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// A string.
    Text,
    /// A list of strings.
    List,
    /// A list of pairs of strings.
    Pairs,
}

/// What a reading collects: problems, defaults taken, keys declared.
pub(super) struct Reader<'d> {
    pub(super) document: &'d Document,
    pub(super) gallon: Cell<Gallon>,
    pub(super) problems: RefCell<Vec<Problem>>,
    /// Nothing where they are of no interest.
    pub(super) defaults: Option<RefCell<Vec<Assumed>>>,
    pub(super) keys: RefCell<Vec<KeyInfo>>,
    /// Whether only the keys are wanted, and absence is no mistake.
    pub(super) describing: bool,
}

impl<'d> Reader<'d> {
    pub(super) fn new(document: &'d Document, describing: bool) -> Self {
        Self {
            document,
            gallon: Cell::new(Gallon::Unstated),
            problems: RefCell::default(),
            defaults: Some(RefCell::default()),
            keys: RefCell::default(),
            describing,
        }
    }

    pub(super) fn root(&self) -> Section<'_> {
        let place = Place { source: 0, span: 0..0 };
        Section {
            reader: self,
            path: String::new(),
            shown_path: String::new(),
            table: Some(&self.document.root),
            place,
            asked: RefCell::default(),
        }
    }

    pub(super) fn complain(&self, place: &Place, message: String, help: Option<String>) {
        self.problems.borrow_mut().push(Problem::new(place.source, place.span.clone(), message, help));
    }

    /// The keys that were declared, each once.
    pub(super) fn into_keys(self) -> Vec<KeyInfo> {
        let mut keys = self.keys.into_inner();
        let mut seen = std::collections::HashSet::new();
        keys.retain(|k| seen.insert(k.path.clone()));
        keys
    }

    pub(super) fn into_problems(self) -> Problems {
        Problems::new(self.document.sources.clone(), self.problems.into_inner())
    }
}

/// A table of the file, being read.
pub(super) struct Section<'r> {
    pub(super) reader: &'r Reader<'r>,
    pub(super) path: String,
    shown_path: String,
    table: Option<&'r Table>,
    place: Place,
    asked: RefCell<Vec<Cow<'static, str>>>,
}

impl<'r> Section<'r> {
    /// Whether the file has this table.
    pub(super) fn is_given(&self) -> bool {
        self.table.is_some()
    }

    /// Whether the key is given.
    pub(super) fn has(&self, key: &str) -> bool {
        self.table.is_some_and(|t| t.get(key).is_some())
    }

    fn below(&self, key: &str) -> String {
        if self.path.is_empty() { key.into() } else { [&self.path, ".", key].concat() }
    }

    pub(super) fn dotted(&self, key: &str) -> String {
        self.below(key)
    }

    fn shown(&self, key: &str) -> String {
        if self.shown_path.is_empty() { key.into() } else { [&self.shown_path, ".", key].concat() }
    }

    pub(super) fn entry(&self, key: impl Into<Cow<'static, str>>) -> Option<&'r Entry> {
        let key = key.into();
        let entry = self.table.and_then(|t| t.get(&key));
        self.asked.borrow_mut().push(key);
        entry
    }

    /// A table below this one.
    pub(super) fn section(&self, key: impl Into<Cow<'static, str>>) -> Section<'r> {
        let key = key.into();
        let entry = self.entry(key.clone());
        let table = entry.and_then(|e| self.as_table(e));
        Section {
            reader: self.reader,
            path: self.below(&key),
            shown_path: if self.reader.describing { self.shown(&key) } else { String::new() },
            table,
            place: entry.map_or_else(|| self.place.clone(), |e| e.key_place.clone()),
            asked: RefCell::default(),
        }
    }

    fn as_table(&self, entry: &'r Entry) -> Option<&'r Table> {
        if let Value::Table(table) = &entry.value.value {
            return Some(table);
        }
        let path = self.below(&entry.key);
        self.reader.complain(
            &entry.value.place,
            format!("`{path}` is {}, but a table belongs here", entry.value.value.kind()),
            Some(format!("write its keys below a line [{path}]")),
        );
        None
    }

    /// The tables below `key`, each under a name of the user's own.
    pub(super) fn named(&self, key: &'static str) -> Vec<(String, Section<'r>)> {
        let group = self.section(key);
        let names: Vec<String> = match group.table {
            Some(table) => table.entries.iter().map(|e| e.key.clone()).collect(),
            None if self.reader.describing => vec!["NAME".into()],
            None => Vec::new(),
        };
        names
            .into_iter()
            .map(|name| {
                let mut section = group.section(name.clone());
                if self.reader.describing {
                    section.shown_path = self.shown(key) + ".NAME";
                } else if let Err(why) = check_name(&name) {
                    section.complain_here(why, Some(NAME_HELP.into()));
                }
                (name, section)
            })
            .collect()
    }

    /// Every value of this table and of those below it: its dotted key, its text, its place. What may
    /// stand there is for others to judge.
    pub(super) fn dotted_values(&self) -> Vec<(String, String, Place)> {
        let mut values = Vec::new();
        if let Some(table) = self.table {
            self.asked.borrow_mut().extend(table.entries.iter().map(|e| Cow::Owned(e.key.clone())));
            flatten(table, "", &mut values);
        }
        values
    }

    /// Shows every value of this table and of those below it, with its path and its place.
    pub(super) fn leaves(&self, mut show: impl FnMut(&[String], &Place, &Node)) {
        fn walk(table: &Table, path: &mut Vec<String>, show: &mut dyn FnMut(&[String], &Place, &Node)) {
            for entry in &table.entries {
                path.push(entry.key.clone());
                match &entry.value.value {
                    Value::Table(below) => walk(below, path, show),
                    _ => show(path, &entry.key_place, &entry.value),
                }
                path.pop();
            }
        }
        if let Some(table) = self.table {
            self.asked.borrow_mut().extend(table.entries.iter().map(|e| Cow::Owned(e.key.clone())));
            walk(table, &mut Vec::new(), &mut show);
        }
    }

    /// Where the table stands.
    pub(super) fn here(&self) -> Place {
        self.place.clone()
    }

    /// Reports a mistake at the table itself.
    pub(super) fn complain_here(&self, message: String, help: Option<String>) {
        self.reader.complain(&self.place, message, help);
    }

    /// Reports a mistake at a key of this table, or at the table itself where the key is absent.
    pub(super) fn complain(&self, key: &str, message: String, help: Option<String>) {
        let place = self.table.and_then(|t| t.get(key)).map_or(&self.place, |e| &e.value.place);
        self.reader.complain(place, message, help);
    }

    pub(super) fn declare(
        &self,
        key: &str,
        doc: &'static str,
        kind: &str,
        example: &str,
        choices: &[&str],
        shape: Shape,
    ) {
        if !self.reader.describing {
            return;
        }
        self.reader.keys.borrow_mut().push(KeyInfo {
            path: self.shown(key),
            doc,
            kind: if kind.is_empty() { format!("one of {}", choices.join(", ")) } else { kind.into() },
            example: example.into(),
            default: None,
            choices: choices.iter().map(|c| (*c).to_owned()).collect(),
            shape,
        });
    }

    /// A key with a list of texts, each with its place.
    pub(super) fn list(
        &self,
        key: &'static str,
        doc: &'static str,
        kind: &str,
        example: &str,
    ) -> Option<Vec<&'r Node>> {
        let shape = if example.contains("[[") { Shape::Pairs } else { Shape::List };
        self.declare(key, doc, kind, example, &[], shape);
        let entry = self.entry(key)?;
        if let Value::List(items) = &entry.value.value {
            return Some(items.iter().collect());
        }
        let message = format!("`{}` is {}, but a list belongs here", self.below(key), entry.value.value.kind());
        self.reader.complain(&entry.value.place, message, Some(format!("example: {key} = {example}")));
        None
    }

    /// Notes what the absence of a key means, where that is no value that could be written.
    pub(super) fn tell(&self, key: &str, meaning: &str) {
        if !self.reader.describing {
            self.assume(key, meaning);
        }
    }

    /// Notes that a default was taken.
    pub(super) fn assume(&self, key: &str, value: &str) {
        if !self.reader.describing {
            if let Some(defaults) = &self.reader.defaults {
                defaults.borrow_mut().push(Assumed { key: self.below(key), value: value.into() });
            }
            return;
        }
        let mut keys = self.reader.keys.borrow_mut();
        let shown = self.shown(key);
        if let Some(info) = keys.iter_mut().rev().find(|k| k.path == shown) {
            info.default = Some(value.into());
        }
    }

    /// Refuses the keys that nobody asked for, naming the nearest that exists.
    pub(super) fn finish(&self) {
        let Some(table) = self.table else { return };
        let asked = self.asked.borrow();
        for entry in &table.entries {
            if asked.iter().any(|a| *a == entry.key) {
                continue;
            }
            let place = if self.path.is_empty() { "a scenario".into() } else { format!("[{}]", self.path) };
            self.reader.complain(
                &entry.key_place,
                format!("`{}` is no key of {place}", entry.key),
                Some(nearest(&entry.key, asked.iter().map(|a| &**a))),
            );
        }
    }
}

fn flatten(table: &Table, prefix: &str, values: &mut Vec<(String, String, Place)>) {
    for entry in &table.entries {
        let key = format!("{prefix}{}", entry.key);
        match &entry.value.value {
            Value::Table(below) => flatten(below, &format!("{key}."), values),
            value => values.push((key, value.text(), entry.value.place.clone())),
        }
    }
}

/// Names the nearest of some words, then all of them.
pub fn nearest<'a>(word: &str, known: impl Iterator<Item = &'a str>) -> String {
    let mut words: Vec<&str> = known.collect();
    words.sort_unstable();
    words.dedup();
    let best =
        words.iter().map(|w| (strsim::damerau_levenshtein(w, word), *w)).filter(|(d, w)| *d <= 3 && *d < w.len()).min();
    let all = words.iter().map(|w| format!("`{w}`")).collect::<Vec<_>>().join(", ");
    let same = super::meant(word).filter(|meant| words.contains(meant));
    match (same, best) {
        (Some(w), _) => format!("here that is `{w}`; allowed: {all}"),
        (None, Some((_, w))) => format!("nearest: `{w}`; allowed: {all}"),
        (None, None) => format!("allowed: {all}"),
    }
}
