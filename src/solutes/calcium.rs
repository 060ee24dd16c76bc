//! Calcium, counted as the ion.

use std::borrow::Cow;

use super::{Base, Role, Solute};

pub(super) static CALCIUM: Solute = Solute {
    key: Cow::Borrowed("calcium"),
    label: Cow::Borrowed("Calcium"),
    base: Base::Milligrams,
    plain: 1.0,
    forms: Cow::Borrowed(&[]),
    nitrogen: None,
    phosphorus: None,
    role: Role::Constituent,
};
