//! One key: how its text is read, its range, its default.

use super::document::Value;
use super::reader::Section;
use crate::units::Quantity;

type Parse<'r, T> = Box<dyn Fn(&str) -> Result<T, String> + 'r>;
type Check<'r, T> = Box<dyn Fn(&T) -> bool + 'r>;

/// A key being read; ends with [`Field::required`], [`Field::or`] or [`Field::optional`].
pub(super) struct Field<'s, 'r, T> {
    section: &'s Section<'r>,
    key: String,
    kind: String,
    example: String,
    parse: Parse<'r, T>,
    checks: Vec<(Check<'r, T>, String)>,
}

impl<'s, 'r, T> Field<'s, 'r, T> {
    pub(super) fn new(
        section: &'s Section<'r>,
        key: String,
        kind: String,
        example: String,
        parse: Parse<'r, T>,
    ) -> Self {
        Self { section, key, kind, example, parse, checks: Vec::new() }
    }

    /// Shows this example in messages.
    pub(super) fn like(mut self, example: &str) -> Self {
        if let Some(info) = self.section.reader.keys.borrow_mut().last_mut() {
            info.example = example.into();
        }
        self.example = example.into();
        self
    }

    /// Accepts only values that pass; `allowed` says which.
    pub(super) fn check(mut self, allowed: impl Into<String>, check: impl Fn(&T) -> bool + 'r) -> Self {
        self.checks.push((Box::new(check), allowed.into()));
        self
    }

    /// The value; absence is a mistake.
    pub(super) fn required(self) -> Option<T> {
        if self.section.entry(&self.key).is_none() && !self.section.reader.describing {
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
        if self.section.entry(&self.key).is_some() {
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
        let entry = self.section.entry(&self.key)?;
        let path = self.section.dotted(&self.key);
        let place = &entry.value.place;
        let reader = self.section.reader;
        let example = format!("example: {} = \"{}\"", self.key, self.example);
        let text = match &entry.value.value {
            Value::Text(text) | Value::Bare(text) => text.clone(),
            other => {
                let message = format!("`{path}` is {}, but {} belongs here", other.kind(), self.kind);
                reader.complain(place, message, Some(example));
                return None;
            }
        };
        let value = match (self.parse)(text.trim()) {
            Ok(value) => value,
            Err(message) => {
                reader.complain(place, format!("`{path}`: {message}"), Some(example));
                return None;
            }
        };
        for (check, allowed) in &self.checks {
            if !check(&value) {
                reader.complain(
                    place,
                    format!("`{path}` = {text} is not possible"),
                    Some(format!("allowed: {allowed}; {example}")),
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
        let allowed = if Q::BASE == "1" {
            format!("{} to {} %", 100.0 * low, 100.0 * high)
        } else {
            format!("{low} to {high} {}", Q::BASE)
        };
        self.check(allowed, move |q| q.base() >= low && q.base() <= high)
    }
}
