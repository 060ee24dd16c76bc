//! Nitrite, counted as the ion.

use std::borrow::Cow;

use super::weights::{NITROGEN, OXYGEN};
use super::{Base, Form, Role, Solute};

const PER_N: f64 = (NITROGEN + 2.0 * OXYGEN) / NITROGEN;

pub(super) static NITRITE: Solute = Solute {
    key: Cow::Borrowed("nitrite"),
    label: Cow::Borrowed("Nitrite"),
    base: Base::Milligrams,
    plain: 1.0,
    forms: Cow::Borrowed(&[
        Form { unit: "mg/L NO2", scale: 1.0 },
        Form { unit: "mg/L NO2-N", scale: PER_N },
        Form { unit: "mg/L N", scale: PER_N },
    ]),
    nitrogen: Some(1.0 / PER_N),
    phosphorus: None,
    role: Role::Nutrient,
};
