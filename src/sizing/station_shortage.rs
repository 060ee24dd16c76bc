//! What a station could not give in time, and why.

/// Why a need was not met in time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// No salt water was ready.
    NoSaltWater,
    /// The fresh store had not enough.
    NoFreshWater,
    /// The van's day was over.
    DayFull,
    /// The van does not go out on that day.
    DayOff,
    /// There was too little water in the tank itself.
    TankLow,
}

impl Why {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::NoSaltWater => "no salt water ready",
            Self::NoFreshWater => "not enough fresh water",
            Self::DayFull => "the day was full",
            Self::DayOff => "no working day",
            Self::TankLow => "too little water in the tank",
        }
    }
}

/// A need that was not met in time.
#[derive(Clone, Debug, PartialEq)]
pub struct Shortage {
    /// When it was due \[d\].
    pub due_d: f64,
    /// Which tank, by its place.
    pub tank: usize,
    /// Whether it is a change; a refill of the top-off reservoir otherwise.
    pub change: bool,
    /// How late it was done \[d\].
    pub late_d: f64,
    /// Litres that were missing.
    pub missing_l: f64,
    /// Why.
    pub why: Why,
}
