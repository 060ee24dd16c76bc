//! Which files this version reads.

/// Format number of the files that this version reads.
pub(in crate::scenario) const FORMAT: i64 = 1;
