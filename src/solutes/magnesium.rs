//! Magnesium, counted as the ion.

use std::borrow::Cow;

use super::{Base, Role, Solute};

pub(super) static MAGNESIUM: Solute = Solute {
    key: Cow::Borrowed("magnesium"),
    label: Cow::Borrowed("Magnesium"),
    base: Base::Milligrams,
    plain: 1.0,
    forms: Cow::Borrowed(&[]),
    nitrogen: None,
    phosphorus: None,
    role: Role::Constituent,
};
