//! How one reader wants numbers: in a system of units, each solute in the form in which it was written.

use super::{Form, Solute};
use crate::units::{Factor, Shown, UnitSystem, significant};

/// Units and forms of texts and pictures. Files for programs keep the units of their columns.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// The system of units.
    pub units: UnitSystem,
    /// Solutes that are shown in a form of their own: key, the unit in which it is counted, form.
    forms: Vec<(String, &'static str, Form)>,
}

impl View {
    /// A view in a system of units, with the forms of solutes.
    #[must_use]
    pub fn new<'a>(units: UnitSystem, forms: impl Iterator<Item = (&'a Solute, Form)>) -> Self {
        Self { units, forms: forms.map(|(solute, form)| (solute.key.to_string(), solute.unit(), form)).collect() }
    }

    /// The unit in which to show a number counted in `unit`; `of` is what it is of: `alkalinity`,
    /// `settled.alkalinity.peak`, `alkalinity lowest`.
    #[must_use]
    pub fn of(&self, of: &str, unit: &str) -> Shown {
        let named = |key: &str| of == key || of.split(['.', ' ']).any(|word| word == key);
        let form = self.forms.iter().find(|(key, counted, _)| unit.starts_with(counted) && named(key));
        match form.and_then(|(_, counted, form)| Some((unit.strip_prefix(counted)?, form))) {
            Some((rest, form)) if rest.is_empty() || rest.starts_with('/') => {
                Shown { unit: format!("{}{rest}", form.unit), factor: Factor::of(form.scale) }
            }
            _ => self.units.shown(unit),
        }
    }

    /// A number with its unit, to some digits.
    #[must_use]
    pub fn say(&self, of: &str, value: f64, unit: &str, digits: i32) -> String {
        let shown = self.of(of, unit);
        format!("{} {}", significant(shown.value(value), digits), shown.unit)
    }
}

impl From<UnitSystem> for View {
    fn from(units: UnitSystem) -> Self {
        Self { units, forms: Vec::new() }
    }
}
