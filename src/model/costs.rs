//! What the work costs in money and minutes.

/// Water in a salt mix as a share of its mass, where nothing better is known (common practice, no source).
pub const USUAL_WATER_IN_MIX: f64 = 0.10;

/// Prices and times, the keeper's own.
#[derive(Clone, Debug, PartialEq)]
pub struct Costs {
    /// Symbol of the money, as it was given.
    pub currency: String,
    /// Price of a kilogram of salt mix, where it is known.
    pub salt_per_kg: Option<f64>,
    /// Price of a litre of purified water with what its making wastes, where it is known.
    pub fresh_per_l: Option<f64>,
    /// Minutes for a change, however large: set up, drain, put away.
    pub minutes_per_change: f64,
    /// Minutes for each litre of salt water mixed and carried.
    pub minutes_per_l: f64,
    /// Minutes for a top-off by hand.
    pub minutes_per_top_off: f64,
}

impl Default for Costs {
    /// No prices; times of bucket work (5 to 8 minutes for 20 L; common practice, no source).
    fn default() -> Self {
        Self {
            currency: String::new(),
            salt_per_kg: None,
            fresh_per_l: None,
            minutes_per_change: 15.0,
            minutes_per_l: 0.3,
            minutes_per_top_off: 3.0,
        }
    }
}
