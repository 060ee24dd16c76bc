//! Total alkalinity. One German degree is 10 mg/L of `CaO`, two equivalents a mole.

use std::borrow::Cow;

use super::weights::{CALCIUM_CARBONATE, CALCIUM_OXIDE};
use super::{Base, Form, Role, Solute};

pub(super) static ALKALINITY: Solute = Solute {
    key: Cow::Borrowed("alkalinity"),
    label: Cow::Borrowed("Alkalinity"),
    base: Base::Milliequivalents,
    plain: 1.0,
    forms: Cow::Borrowed(&[
        Form { unit: "dKH", scale: 20.0 / CALCIUM_OXIDE },
        Form { unit: "mg/L CaCO3", scale: 2.0 / CALCIUM_CARBONATE },
    ]),
    nitrogen: None,
    phosphorus: None,
    role: Role::Constituent,
};
