//! What faults do to a tank.

use super::Warning;

/// Every fault on one tank, the worst first.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Faults {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// When the fault begins \[d from the start\].
    pub begin_d: f64,
    /// When it ends \[d from the start\]; nothing where it lasts until it is seen.
    pub end_d: Option<f64>,
    /// How often somebody looks \[d\].
    pub look_every_d: f64,
    /// How often the salinity is read \[d\].
    pub read_every_d: f64,
    /// Deviation of a reading at which the keeper takes alarm \[psu\], and the chance that a reading of a
    /// sound tank deviates by as much.
    pub alarm_psu: f64,
    /// See above.
    pub false_alarm: f64,
    /// Each fault that can happen here.
    pub faults: Vec<FaultReport>,
    /// Those that cannot, with the reason.
    #[serde(serialize_with = "crate::results::labelled::no_fault::list")]
    #[schemars(with = "Vec<crate::results::labelled::NoFault>")]
    pub cannot: Vec<(String, String)>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
    /// Cautions for the work itself.
    pub cautions: Vec<String>,
}

/// What one fault does.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct FaultReport {
    /// Its name.
    pub key: String,
    /// Its name for people.
    pub title: String,
    /// How large it is.
    pub size: String,
    /// How long it lasted \[d\].
    pub lasted_d: f64,
    /// Each band of the scenario, and salinity where it has none.
    pub effects: Vec<FaultEffect>,
    /// Which of them is hit hardest.
    pub worst: usize,
    /// What it does to the animals in a measure that no band has.
    pub harm: Option<Harm>,
    /// How hard: excess over the half-width of the band (or over its one edge), or psu where there is no band; or, where
    /// that is more, the harm over its limit.
    pub severity: f64,
    /// Tank water run over the rim more than without the fault \[L\].
    #[serde(rename = "spill_L")]
    pub spill_l: f64,
    /// When the return pump starves \[d after it begins\].
    pub starved_after_d: Option<f64>,
    /// The first thing to be seen, and when \[d after it begins\].
    pub first_sign: Option<Sign>,
    /// The chance that it is seen by the end of the fault, and before the first band is left.
    pub seen_by_end: f64,
    /// See above; nothing where no band is left.
    pub seen_before_harm: Option<f64>,
    /// What would have held it in bounds.
    pub caps: Vec<CapReport>,
    /// What the balance does not show.
    pub note: Option<String>,
}

impl FaultReport {
    /// The harm, where it weighs more than what happens to any band.
    #[must_use]
    pub fn hit_by_harm(&self) -> Option<&Harm> {
        self.harm.as_ref().filter(|harm| harm.used() >= self.severity && self.severity > 0.0)
    }
}

/// What a fault does to the animals in a measure that no band has.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct Harm {
    /// Of what.
    pub of: String,
    /// Its unit.
    pub unit: String,
    /// The worst value.
    pub worst: f64,
    /// What should not be passed.
    pub limit: f64,
    /// Where that comes from.
    pub source: String,
}

impl Harm {
    /// The worst value over the limit.
    #[must_use]
    pub fn used(&self) -> f64 {
        self.worst / self.limit
    }
}

/// What a fault does to one quantity.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct FaultEffect {
    /// `salinity` or the solute's key.
    pub key: String,
    /// Unit.
    pub unit: String,
    /// When its band is left \[d after the fault begins\].
    pub left_after_d: Option<f64>,
    /// Whether it is left without the fault too.
    pub left_anyway: bool,
    /// The value that is farthest from that of the run without the fault.
    pub worst: f64,
    /// When \[d after the fault begins\].
    pub worst_after_d: f64,
    /// The value without the fault then.
    pub without: f64,
}

/// Something that can be seen.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct Sign {
    /// What.
    pub what: String,
    /// When \[d after the fault begins\].
    pub after_d: f64,
}

/// What a device or habit would have made of it.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct CapReport {
    /// What.
    pub what: String,
    /// The worst value with it, of the quantity that is hit hardest.
    pub worst: f64,
    /// Whether that band is then kept; nothing where there is none.
    pub kept: Option<bool>,
}
