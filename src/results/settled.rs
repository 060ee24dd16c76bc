//! The settled cycle of a periodic regime.

/// What a regime settles to, cycle after cycle.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Settled {
    /// Length of the cycle \[d\].
    pub cycle_d: f64,
    /// Whether it is a year from the start date on, once the start no longer shows: with a season there is no shorter
    /// cycle, and acts by the week need not fall on the same dates every year.
    pub seasonal: bool,
    /// Days until the distance to the settled cycle has halved; `None` where it never shrinks.
    pub half_life_d: Option<f64>,
    /// Days until the distance is 5 % of what it was; `None` where it never shrinks.
    pub to_5_percent_d: Option<f64>,
    /// Salinity over the cycle \[psu\].
    pub salinity_psu: SettledSolute,
    /// Each solute over the cycle, in its own unit.
    pub solutes: Vec<SettledSolute>,
    /// Amounts at the start of the cycle: water kg, salt kg, then the solutes.
    #[serde(skip)]
    pub start: Vec<f64>,
}

impl Settled {
    /// Salinity, then the solutes.
    pub fn each(&self) -> impl Iterator<Item = &SettledSolute> {
        std::iter::once(&self.salinity_psu).chain(&self.solutes)
    }

    /// The quantity of a key, as in `salinity`.
    #[must_use]
    pub fn of(&self, key: &str) -> Option<&SettledSolute> {
        self.each().find(|span| span.key == key)
    }
}

/// One quantity over the settled cycle.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct SettledSolute {
    /// The solute's key, or `salinity`.
    pub key: String,
    /// Unit of the numbers.
    pub unit: String,
    /// Lowest value, taken at events.
    pub trough: f64,
    /// When, from the start of the cycle \[d\].
    pub trough_d: f64,
    /// Mean over time.
    pub mean: f64,
    /// Highest value, taken at events.
    pub peak: f64,
    /// When, from the start of the cycle \[d\].
    pub peak_d: f64,
}
