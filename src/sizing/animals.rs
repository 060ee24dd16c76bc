//! What groups of animals are moved by: rates of salinity change, and floors below which they are not kept.
//!
//! Common practice, no source: usual figures of the trade, on the careful side. What a species bears is for its literature
//! and a veterinarian to say.

/// A group of animals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Animals {
    /// Its name in arguments.
    pub key: &'static str,
    /// In words.
    pub words: &'static str,
    /// Most that salinity may rise in a day \[psu\].
    pub up_per_d: f64,
    /// Most that it may fall in a day \[psu\].
    pub down_per_d: f64,
    /// Lowest salinity at which they are kept \[psu\].
    pub floor_psu: f64,
}

/// Every group; the first is taken where none is named.
pub const ANIMALS: [Animals; 5] = [
    Animals {
        key: "reef",
        words: "corals and other reef invertebrates",
        up_per_d: 1.0,
        down_per_d: 1.3,
        floor_psu: 31.0,
    },
    Animals { key: "marine-fish", words: "marine fish", up_per_d: 1.0, down_per_d: 3.0, floor_psu: 11.0 },
    Animals { key: "estuarine-fish", words: "estuarine fish", up_per_d: 3.0, down_per_d: 5.0, floor_psu: 2.0 },
    Animals { key: "urchins-stars", words: "urchins and sea stars", up_per_d: 0.5, down_per_d: 0.5, floor_psu: 32.0 },
    Animals { key: "larvae", words: "larvae", up_per_d: 0.5, down_per_d: 1.0, floor_psu: 28.0 },
];

/// The group of a name.
#[must_use]
pub fn animals(key: &str) -> Option<Animals> {
    ANIMALS.into_iter().find(|a| a.key == key)
}
