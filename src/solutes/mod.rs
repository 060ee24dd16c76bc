//! Tracked species: one file each, with its units and equivalent forms.
//!
//! A solute's amount is held in milligrams or milliequivalents, its concentration in mg/L or
//! meq/L. A new one is a file here, its `mod` line and its line in [`ALL`]; a private one needs no
//! code, only a table in the scenario.

mod alkalinity;
mod ammonia;
mod calcium;
mod form;
mod magnesium;
mod nitrate;
mod nitrite;
mod phosphate;
mod view;
mod weights;

use std::borrow::Cow;

pub use form::{Base, Form, LoadText, SoluteError, form_of, in_column, parse_amount, parse_concentration, parse_load};
pub use view::View;
pub use weights::NITROGEN;

/// Every built-in solute.
pub static ALL: &[&Solute] = &[
    &ammonia::AMMONIA,
    &nitrite::NITRITE,
    &nitrate::NITRATE,
    &phosphate::PHOSPHATE,
    &alkalinity::ALKALINITY,
    &calcium::CALCIUM,
    &magnesium::MAGNESIUM,
];

/// A tracked species.
#[derive(Clone, Debug, PartialEq)]
pub struct Solute {
    /// Its name in scenario files and column headers: lower case, no spaces.
    pub key: Cow<'static, str>,
    /// Its name on screens and in pictures.
    pub label: Cow<'static, str>,
    /// What its amount is counted in.
    pub base: Base,
    /// Base units in a unit that names no form: in `mg` or `mg/L`, or in `meq` or `meq/L`.
    pub plain: f64,
    /// Equivalent spellings of its concentration.
    pub forms: Cow<'static, [Form]>,
    /// Milligrams of nitrogen in a base unit, where it is a nitrogen species.
    pub nitrogen: Option<f64>,
    /// Milligrams of phosphorus in a base unit, where it is a phosphorus species.
    pub phosphorus: Option<f64>,
    /// What it is to the keeper.
    pub role: Role,
}

/// What a solute is to the keeper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Part of sea salt, which the animals take up: it is kept up.
    Constituent,
    /// Nitrogen or phosphorus, which feed brings and changes take out.
    Nutrient,
    /// Something that should not be there: its source is looked for, and changes and carbon take it out.
    Contaminant,
    /// Something that is dosed against a disease: changes dilute it and carbon takes it, and it is dosed again.
    Medicine,
    /// Anything else that only one scenario knows.
    Other,
}

impl Solute {
    /// A solute that only one scenario knows.
    #[must_use]
    pub fn private(key: &str, base: Base) -> Self {
        Self {
            key: Cow::Owned(key.into()),
            label: Cow::Owned(key.replace('_', " ")),
            base,
            plain: 1.0,
            forms: Cow::Borrowed(&[]),
            nitrogen: None,
            phosphorus: None,
            role: Role::Other,
        }
    }

    /// The same nitrogen species counted by its nitrogen, as the members of a chain are; another solute as it is.
    #[must_use]
    pub fn by_nitrogen(self) -> Self {
        let Some(share) = self.nitrogen else { return self };
        let forms = self.forms.iter().map(|form| Form { scale: form.scale * share, ..*form }).collect();
        let base = Base::MilligramsOfNitrogen;
        Self { base, plain: self.plain * share, forms: Cow::Owned(forms), nitrogen: Some(1.0), ..self }
    }

    /// The unit of its concentration: `mg/L`, `mg/L N` or `meq/L`.
    #[must_use]
    pub fn unit(&self) -> &'static str {
        self.base.per_litre()
    }

    /// Its column in `trace.csv`: `nitrate_mg_per_L`.
    #[must_use]
    pub fn column(&self) -> String {
        format!("{}_{}", self.key, in_column(self.unit()))
    }

    /// Its column in `ledger.csv`: `nitrate_mg`.
    #[must_use]
    pub fn amount_column(&self) -> String {
        format!("{}_{}", self.key, in_column(self.base.amount()))
    }
}

/// The built-in solute of a name.
#[must_use]
pub fn find(key: &str) -> Option<&'static Solute> {
    ALL.iter().copied().find(|s| s.key == key)
}
