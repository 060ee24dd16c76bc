//! Phosphate, counted as the ion.

use std::borrow::Cow;

use super::weights::{OXYGEN, PHOSPHORUS};
use super::{Base, Form, Role, Solute};

const PER_P: f64 = (PHOSPHORUS + 4.0 * OXYGEN) / PHOSPHORUS;

pub(super) static PHOSPHATE: Solute = Solute {
    key: Cow::Borrowed("phosphate"),
    label: Cow::Borrowed("Phosphate"),
    base: Base::Milligrams,
    plain: 1.0,
    forms: Cow::Borrowed(&[
        Form { unit: "mg/L PO4", scale: 1.0 },
        Form { unit: "mg/L PO4-P", scale: PER_P },
        Form { unit: "ppb P", scale: 1e-3 * PER_P },
    ]),
    nitrogen: None,
    phosphorus: Some(1.0 / PER_P),
    role: Role::Nutrient,
};
