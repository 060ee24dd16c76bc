//! Nitrate, counted as the ion.

use std::borrow::Cow;

use super::weights::{NITROGEN, OXYGEN};
use super::{Base, Form, Role, Solute};

const MOLAR: f64 = NITROGEN + 3.0 * OXYGEN;
const PER_N: f64 = MOLAR / NITROGEN;

pub(super) static NITRATE: Solute = Solute {
    key: Cow::Borrowed("nitrate"),
    label: Cow::Borrowed("Nitrate"),
    base: Base::Milligrams,
    plain: 1.0,
    forms: Cow::Borrowed(&[
        Form { unit: "mg/L NO3", scale: 1.0 },
        Form { unit: "mg/L NO3-N", scale: PER_N },
        Form { unit: "mg/L N", scale: PER_N },
        Form { unit: "umol/L", scale: 1e-3 * MOLAR },
    ]),
    nitrogen: Some(1.0 / PER_N),
    phosphorus: None,
    role: Role::Nutrient,
};
