//! One key: how its text is read, its range, its default.

use std::borrow::Cow;

use super::document::Value;
use super::reader::Section;
use crate::units::Quantity;

type Parse<'r, T> = Box<dyn Fn(&str) -> Result<T, String> + 'r>;
type Check<'r, T> = Box<dyn Fn(&T) -> bool + 'r>;

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

/// A key being read; ends with [`Field::required`], [`Field::or`] or [`Field::optional`].
pub(super) struct Field<'s, 'r, T> {
    section: &'s Section<'r>,
    key: Cow<'static, str>,
    kind: Words,
    example: &'static str,
    parse: Parse<'r, T>,
    checks: Vec<(Check<'r, T>, Words)>,
}

impl<'s, 'r, T> Field<'s, 'r, T> {
    pub(super) fn new(
        section: &'s Section<'r>,
        key: impl Into<Cow<'static, str>>,
        kind: &'static str,
        example: &'static str,
        parse: impl Fn(&str) -> Result<T, String> + 'r,
    ) -> Self {
        let kind = Words::Said(kind.into());
        Self { section, key: key.into(), kind, example, parse: Box::new(parse), checks: Vec::new() }
    }

    /// A key that takes one of some words.
    pub(super) fn one_of(
        section: &'s Section<'r>,
        key: &'static str,
        choices: &'static [&'static str],
        parse: impl Fn(&str) -> Result<T, String> + 'r,
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
    pub(super) fn check(self, allowed: impl Into<Cow<'static, str>>, check: impl Fn(&T) -> bool + 'r) -> Self {
        self.checked(Words::Said(allowed.into()), check)
    }

    fn checked(mut self, allowed: Words, check: impl Fn(&T) -> bool + 'r) -> Self {
        self.checks.push((Box::new(check), allowed));
        self
    }

    /// The value; absence is a mistake.
    pub(super) fn required(self) -> Option<T> {
        if self.section.entry(self.key.clone()).is_none() && !self.section.reader.describing {
            let path = self.section.dotted(&self.key);
            self.section.complain(
                &self.key,
                format!("`{path}` is missing"),
                Some(format!("it is {}; example: {} = \"{}\"", self.kind, self.key, self.example)),
            );
            return None;
        }
        self.read()
    }

    /// The value, or what `default` means.
    pub(super) fn or(self, default: &str) -> Option<T> {
        if self.section.entry(self.key.clone()).is_some() {
            return self.read();
        }
        self.section.assume(&self.key, default);
        (self.parse)(default).ok()
    }

    /// The value, if it is given.
    pub(super) fn optional(self) -> Option<T> {
        self.read()
    }

    fn read(self) -> Option<T> {
        let entry = self.section.entry(self.key.clone())?;
        let place = &entry.value.place;
        let reader = self.section.reader;
        let path = || self.section.dotted(&self.key);
        let example = || format!("example: {} = \"{}\"", self.key, self.example);
        let (Value::Text(text) | Value::Bare(text)) = &entry.value.value else {
            let message = format!("`{}` is {}, but {} belongs here", path(), entry.value.value.kind(), self.kind);
            reader.complain(place, message, Some(example()));
            return None;
        };
        let value = match (self.parse)(text.trim()) {
            Ok(value) => value,
            Err(message) => {
                reader.complain(place, format!("`{}`: {message}", path()), Some(example()));
                return None;
            }
        };
        for (check, allowed) in &self.checks {
            if !check(&value) {
                reader.complain(
                    place,
                    format!("`{}` = {text} is not possible", path()),
                    Some(format!("allowed: {allowed}; {}", example())),
                );
                return None;
            }
        }
        Some(value)
    }
}

impl<'r, Q: Quantity + 'r> Field<'_, 'r, Q> {
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
