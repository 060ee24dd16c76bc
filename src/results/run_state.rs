//! What a run hands on to the run that follows it.

/// A tank at an instant, with all that the future hangs on besides the plan.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RunState {
    /// Version of the format.
    pub format: u32,
    /// Days from the start of the scenario; what was due then is done.
    pub time_d: f64,
    /// System volume at the operating level of the tank that it is of \[L\].
    #[serde(rename = "operating_L")]
    pub operating_l: f64,
    /// Water \[kg\].
    pub water_kg: f64,
    /// Salt \[kg\].
    pub salt_kg: f64,
    /// Each solute, in the order of the scenario.
    pub solutes: Vec<SoluteState>,
    /// What is in the top-off reservoir \[L\]; absent where there is none.
    #[serde(rename = "reservoir_L")]
    pub reservoir_l: Option<f64>,
    /// Whether a float of two levels has its pump on.
    pub pumping: bool,
    /// Salinity at which the volumes of water and salt were last read \[psu\].
    pub volumes_at_psu: f64,
    /// Batches of new water used by each change so far.
    pub batches: Vec<usize>,
}

/// A solute at an instant.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SoluteState {
    /// Its key.
    pub key: String,
    /// How much the tank holds \[mg or meq\].
    pub amount: f64,
    /// Whether its uptake has used it up.
    pub used_up: bool,
}

impl RunState {
    /// The version that this program writes and reads.
    pub const FORMAT: u32 = 1;

    /// Why it is no state of a tank; nothing where it is one.
    #[must_use]
    pub fn wrong(&self) -> Option<String> {
        if self.format != Self::FORMAT {
            return Some(format!("it is of format {}, and this version reads format {}", self.format, Self::FORMAT));
        }
        let amounts = [self.time_d, self.water_kg, self.salt_kg, self.reservoir_l.unwrap_or(0.0)];
        let fine = amounts.into_iter().all(|v| v.is_finite() && v >= 0.0)
            && self.solutes.iter().all(|s| s.amount.is_finite())
            && self.water_kg > 0.0
            && (0.0..=42.0).contains(&self.volumes_at_psu);
        (!fine).then(|| "one of its amounts cannot be".to_owned())
    }
}
