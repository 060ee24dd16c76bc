//! What `rescue` answers, and the files that it makes.

use crate::results::Warning;

/// The ladder.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct RescueAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// Of what.
    pub of: String,
    /// Its unit.
    pub unit: String,
    /// Where it is.
    pub from: f64,
    /// Where it goes.
    pub to: f64,
    /// What the new water holds.
    pub new: f64,
    /// Share of the old water that is left.
    pub share_left: f64,
    /// One change, several, and a continuous exchange.
    pub rungs: Vec<RescueRung>,
    /// Rise a day that is still coming in.
    pub load_per_d: f64,
    /// Changing each day what stands ready; empty where there is none.
    pub by_day: Vec<RescueDayLine>,
    /// Waiting for one change of the largest share, where there will be enough for it.
    pub waiting: Option<RescueWait>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
    /// Cautions for the work itself.
    pub cautions: Vec<String>,
}

/// A day of changing what stands ready.
#[derive(Clone, Copy, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct RescueDayLine {
    /// Days from now.
    pub day: u32,
    /// New water changed in \[L\].
    #[serde(rename = "litres_L")]
    pub litres: f64,
    /// Concentration just after.
    pub after: f64,
    /// Concentration times days, until the next day.
    pub exposure: f64,
}

/// One large change instead.
#[derive(Clone, Copy, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct RescueWait {
    /// Its share of the tank.
    pub share: f64,
    /// When there is enough for it \[d\].
    pub ready_d: f64,
    /// Concentration times days until then.
    pub exposure: f64,
    /// What it leaves.
    pub after: f64,
}

/// One way.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct RescueRung {
    /// Equal changes; zero for a continuous exchange.
    pub changes: u32,
    /// Share of the tank in each.
    pub share: f64,
    /// Litres of new water in all.
    #[serde(rename = "litres_L")]
    pub litres: f64,
    /// Days from now until there is enough new water; nothing where there never is.
    pub ready_d: Option<f64>,
    /// By how much one change moves the salinity \[psu\].
    pub salinity_step_psu: f64,
    /// By how much one change moves the temperature \[C\].
    #[serde(rename = "temperature_step_C")]
    pub temperature_step_c: f64,
    /// By how much one change moves the alkalinity \[meq/L\], where it is tracked.
    #[serde(rename = "alkalinity_step_meq_per_L")]
    pub alkalinity_step: Option<f64>,
}
