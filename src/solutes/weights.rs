//! Atomic weights \[g/mol\].
//!
//! # Source
//! IUPAC abridged standard atomic weights 2021 (Pure Appl. Chem. 94:573); phosphorus is
//! monoisotopic and given in full.

pub(super) const HYDROGEN: f64 = 1.008;
/// Nitrogen \[g/mol\].
pub const NITROGEN: f64 = 14.007;
pub(super) const OXYGEN: f64 = 15.999;
pub(super) const PHOSPHORUS: f64 = 30.973761998;
/// `CaO`, on which the German degree of hardness is defined (10 mg/L).
pub(super) const CALCIUM_OXIDE: f64 = 56.0774;
/// `CaCO3`, in which alkalinity is quoted as mg/L.
pub(super) const CALCIUM_CARBONATE: f64 = 100.0869;
