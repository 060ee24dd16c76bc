//! One key: how its text is read, its range, its default.

use std::borrow::Cow;

use super::document::{Node, Value};
use super::reader::{Section, Shape, nearest};
use crate::units::{Quantity, parse};

/// A text for messages. A scenario is read thousands of times in a study, and most readings have no mistake.
enum Words {
    Said(Cow<'static, str>),
    /// One of these.
    OneOf(&'static [&'static str]),
    /// Between two values of a unit.
    Between(f64, f64, &'static str),
}

impl std::fmt::Display for Words {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Said(words) => f.write_str(words),
            Self::OneOf(choices) => write!(f, "one of {}", choices.join(", ")),
            Self::Between(low, high, "1") => write!(f, "{} to {} %", 100.0 * low, 100.0 * high),
            Self::Between(low, high, unit) => write!(f, "{low} to {high} {unit}"),
        }
    }
}

/// A key being read by `P`; ends with [`Field::required`], [`Field::or`] or [`Field::optional`].
pub(super) struct Field<'s, 'r, T, P> {
    section: &'s Section<'r>,
    key: Cow<'static, str>,
    kind: Words,
    example: &'static str,
    parse: P,
    found: Found<'r, T>,
}

/// What stands in the file.
enum Found<'r, T> {
    Nothing,
    Value(&'r Node, T),
    Mistake(&'r Node, Mistake),
}

enum Mistake {
    /// Not a text.
    Kind,
    /// A text that cannot be read, and why.
    Text(String),
    /// A value that is not possible, and which are.
    Value(Words),
}

impl<'r> Section<'r> {
    /// A key whose text is read by `parse`.
    pub(super) fn value<T, P: Fn(&str) -> Result<T, String>>(
        &self,
        key: &'static str,
        doc: &'static str,
        kind: &'static str,
        example: &'static str,
        parse: P,
    ) -> Field<'_, 'r, T, P> {
        self.declare(key, doc, kind, example, &[], Shape::Text);
        Field::new(self, key, kind, example, parse)
    }

    /// As [`Section::value`], under a name of the user's own.
    pub(super) fn value_named<T, P: Fn(&str) -> Result<T, String>>(
        &self,
        key: &str,
        kind: &'static str,
        example: &'static str,
        parse: P,
    ) -> Field<'_, 'r, T, P> {
        Field::new(self, key.to_owned(), kind, example, parse)
    }

    /// A key with a quantity.
    pub(super) fn quantity<Q: Quantity>(
        &self,
        key: &'static str,
        doc: &'static str,
    ) -> Field<'_, 'r, Q, impl Fn(&str) -> Result<Q, String>> {
        let gallon = self.reader.gallon.get();
        self.value(key, doc, Q::WHAT, Q::EXAMPLE, move |t| parse::<Q>(t, gallon).map_err(|e| e.to_string()))
    }

    /// A key that takes one of some words.
    pub(super) fn choice(
        &self,
        key: &'static str,
        doc: &'static str,
        choices: &'static [&'static str],
    ) -> Field<'_, 'r, &'static str, impl Fn(&str) -> Result<&'static str, String>> {
        self.declare(key, doc, "", choices[0], choices, Shape::Text);
        let parse = move |text: &str| {
            choices
                .iter()
                .find(|c| **c == text)
                .copied()
                .ok_or_else(|| format!("`{text}` is not known here: {}", nearest(text, choices.iter().copied())))
        };
        Field::one_of(self, key, choices, parse)
    }
}

impl<'s, 'r, T, P: Fn(&str) -> Result<T, String>> Field<'s, 'r, T, P> {
    pub(super) fn new(
        section: &'s Section<'r>,
        key: impl Into<Cow<'static, str>>,
        kind: &'static str,
        example: &'static str,
        parse: P,
    ) -> Self {
        let key = key.into();
        let found = match section.entry(key.clone()).map(|entry| &entry.value) {
            None => Found::Nothing,
            Some(node) => match &node.value {
                Value::Text(text) | Value::Bare(text) => match parse(text.trim()) {
                    Ok(value) => Found::Value(node, value),
                    Err(message) => Found::Mistake(node, Mistake::Text(message)),
                },
                _ => Found::Mistake(node, Mistake::Kind),
            },
        };
        Self { section, key, kind: Words::Said(kind.into()), example, parse, found }
    }

    /// A key that takes one of some words.
    pub(super) fn one_of(
        section: &'s Section<'r>,
        key: &'static str,
        choices: &'static [&'static str],
        parse: P,
    ) -> Self {
        Self { kind: Words::OneOf(choices), ..Self::new(section, key, "", choices[0], parse) }
    }

    /// Shows this example in messages.
    pub(super) fn like(mut self, example: &'static str) -> Self {
        if let Some(info) = self.section.reader.keys.borrow_mut().last_mut() {
            info.example = example.into();
        }
        self.example = example;
        self
    }

    /// Accepts only values that pass; `allowed` says which.
    pub(super) fn check(self, allowed: impl Into<Cow<'static, str>>, check: impl Fn(&T) -> bool) -> Self {
        self.checked(Words::Said(allowed.into()), check)
    }

    fn checked(mut self, allowed: Words, check: impl Fn(&T) -> bool) -> Self {
        if let Found::Value(node, value) = &self.found
            && !check(value)
        {
            self.found = Found::Mistake(node, Mistake::Value(allowed));
        }
        self
    }

    /// The value; absence is a mistake.
    pub(super) fn required(self) -> Option<T> {
        if matches!(self.found, Found::Nothing) && !self.section.reader.describing {
            let path = self.section.dotted(&self.key);
            self.section.complain(
                &self.key,
                format!("`{path}` is missing"),
                Some(format!("it is {}; example: {} = \"{}\"", self.kind, self.key, self.example)),
            );
        }
        self.optional()
    }

    /// The value, or what `default` means.
    pub(super) fn or(self, default: &str) -> Option<T> {
        if matches!(self.found, Found::Nothing) {
            self.section.assume(&self.key, default);
            return (self.parse)(default).ok();
        }
        self.optional()
    }

    /// The value, if it is given; where it is not, what that means is told among what the file leaves out.
    pub(super) fn absent(self, meaning: &str) -> Option<T> {
        if matches!(self.found, Found::Nothing) {
            self.section.tell(&self.key, meaning);
        }
        self.optional()
    }

    /// The value, if it is given; where it is not, there is none of what it is about.
    pub(super) fn optional(self) -> Option<T> {
        let (node, mistake) = match self.found {
            Found::Nothing => return None,
            Found::Value(_, value) => return Some(value),
            Found::Mistake(node, mistake) => (node, mistake),
        };
        let path = self.section.dotted(&self.key);
        let example = format!("example: {} = \"{}\"", self.key, self.example);
        let (message, help) = match mistake {
            Mistake::Kind => (format!("`{path}` is {}, but {} belongs here", node.value.kind(), self.kind), example),
            Mistake::Text(message) => (format!("`{path}`: {message}"), example),
            Mistake::Value(allowed) => {
                let text = node.value.text();
                (format!("`{path}` = {text} is not possible"), format!("allowed: {allowed}; {example}"))
            }
        };
        self.section.reader.complain(&node.place, message, Some(help));
        None
    }
}

impl<Q: Quantity, P: Fn(&str) -> Result<Q, String>> Field<'_, '_, Q, P> {
    /// Greater than zero.
    pub(super) fn positive(self) -> Self {
        self.check("greater than zero", |q| q.base() > 0.0)
    }

    /// Zero or more.
    pub(super) fn not_negative(self) -> Self {
        self.check("zero or more", |q| q.base() >= 0.0)
    }

    /// Between two values in the base unit, ends included.
    pub(super) fn between(self, low: f64, high: f64) -> Self {
        self.checked(Words::Between(low, high, Q::BASE), move |q| q.base() >= low && q.base() <= high)
    }
}
