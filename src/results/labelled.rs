//! Pairs that stand in JSON as objects, so that nobody has to know which of the two comes first.

use schemars::JsonSchema;
use serde::{Serialize, Serializer};

/// Makes the object of a pair, and the functions that write one, one or none, and a list of them.
macro_rules! pairs {
    ($($(#[$doc:meta])* $object:ident($first:ident: $a:ty, $second:ident: $b:ty) $one:ident;)*) => {
        $(
            $(#[$doc])*
            #[derive(Serialize, JsonSchema)]
            pub struct $object {
                /// The first of the two.
                pub $first: $a,
                /// The second.
                pub $second: $b,
            }

            /// How such a pair is written.
            pub mod $one {
                use super::{$object, Serialize, Serializer};

                /// A list of them.
                pub fn list<S: Serializer>(pairs: &[($a, $b)], to: S) -> Result<S::Ok, S::Error> {
                    to.collect_seq(pairs.iter().cloned().map(|($first, $second)| $object { $first, $second }))
                }

                /// One, or nothing.
                pub fn option<S: Serializer>(pair: &Option<($a, $b)>, to: S) -> Result<S::Ok, S::Error> {
                    pair.clone().map(|($first, $second)| $object { $first, $second }).serialize(to)
                }
            }
        )*
    };
}

pairs! {
    /// A fault that cannot happen, and why.
    NoFault(fault: String, why: String) no_fault;
    /// A key, and its unit.
    KeyUnit(key: String, unit: String) key_unit;
    /// What to measure, and the share of the variance that it would take away.
    Narrows(measure: String, share: f64) narrows;
    /// A value of a key, and what was measured with it.
    Measured(value: f64, measured: Option<f64>) measured;
    /// A mean and the largest.
    MeanMost(mean: f64, most: f64) mean_most;
    /// A mean and its standard deviation.
    MeanDeviation(mean: f64, deviation: f64) mean_deviation;
}

/// Both ends of a range.
#[derive(Serialize, JsonSchema)]
pub struct LowHigh {
    /// The lower end.
    pub low: f64,
    /// The upper end.
    pub high: f64,
}

/// Writes a range.
pub fn range<S: Serializer>([low, high]: &[f64; 2], to: S) -> Result<S::Ok, S::Error> {
    LowHigh { low: *low, high: *high }.serialize(to)
}

/// Writes a range, or nothing.
pub fn range_option<S: Serializer>(range: &Option<[f64; 2]>, to: S) -> Result<S::Ok, S::Error> {
    range.map(|[low, high]| LowHigh { low, high }).serialize(to)
}

/// Writes ranges.
pub fn ranges<S: Serializer>(ranges: &[[f64; 2]], to: S) -> Result<S::Ok, S::Error> {
    to.collect_seq(ranges.iter().map(|[low, high]| LowHigh { low: *low, high: *high }))
}

/// Before something and after it.
#[derive(Serialize, JsonSchema)]
pub struct BeforeAfter {
    /// Before.
    pub before: f64,
    /// After.
    pub after: f64,
}

/// Writes what is before and after.
pub fn before_after<S: Serializer>([before, after]: &[f64; 2], to: S) -> Result<S::Ok, S::Error> {
    BeforeAfter { before: *before, after: *after }.serialize(to)
}
