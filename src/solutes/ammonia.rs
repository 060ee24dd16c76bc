//! Total ammonia (un-ionised and ionised), counted as nitrogen.

use std::borrow::Cow;

use super::weights::{HYDROGEN, NITROGEN};
use super::{Base, Form, Role, Solute};

const N_PER_NH4: f64 = NITROGEN / (NITROGEN + 4.0 * HYDROGEN);

const N_PER_NH3: f64 = NITROGEN / (NITROGEN + 3.0 * HYDROGEN);

pub(super) static AMMONIA: Solute = Solute {
    key: Cow::Borrowed("ammonia"),
    label: Cow::Borrowed("Ammonia (total, as N)"),
    base: Base::MilligramsOfNitrogen,
    plain: 1.0,
    forms: Cow::Borrowed(&[
        Form { unit: "mg/L N", scale: 1.0 },
        Form { unit: "mg/L NH3-N", scale: 1.0 },
        Form { unit: "mg/L NH4-N", scale: 1.0 },
        Form { unit: "mg/L NH4", scale: N_PER_NH4 },
        Form { unit: "mg/L NH3", scale: N_PER_NH3 },
    ]),
    nitrogen: Some(1.0),
    phosphorus: None,
    role: Role::Nutrient,
};
