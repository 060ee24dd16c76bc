//! A calendar of work, and a shopping list.

use super::Warning;

/// Everything to do from a day on.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct WorkPlan {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// First day.
    pub from: String,
    /// Days covered.
    pub days: f64,
    /// Time zone of the clock, or `local`.
    pub zone: String,
    /// What is to do, in time order.
    pub items: Vec<WorkItem>,
    /// What a pump doses, all the time or oftener than daily, and is no item: each with its amount.
    pub by_pump: Vec<String>,
    /// What is used, month by month.
    pub shopping: Vec<ShoppingLine>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
    /// Cautions for the work itself.
    pub cautions: Vec<String>,
}

/// Something to do.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct WorkItem {
    /// When it begins, local time: `2026-03-14T10:00:00`.
    pub begins: String,
    /// The same instant in UTC, `2026-03-14T09:00:00Z`, where a zone was given.
    pub begins_utc: Option<String>,
    /// How long it takes \[min\].
    pub minutes: i64,
    /// A fixed word for programs: `change`, `mix`, `read` ...
    pub kind: String,
    /// What to do.
    pub what: String,
    /// With which amounts, in words.
    pub detail: String,
    /// Water that is moved or made \[L\], where that is what is done.
    #[serde(rename = "water_L")]
    pub water_l: Option<f64>,
    /// Salt mix \[kg\].
    pub salt_mix_kg: Option<f64>,
    /// Salinity of the water \[psu\].
    pub salinity_psu: Option<f64>,
    /// A name that stays the same when the plan is made again.
    pub uid: String,
    /// Minutes before it at which to be reminded.
    pub reminder_min: i64,
}

/// What one month uses.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct ShoppingLine {
    /// Month: `2026-03`.
    pub month: String,
    /// Changes.
    pub changes: usize,
    /// Salt water \[L\].
    #[serde(rename = "salt_water_L")]
    pub salt_water_l: f64,
    /// Salt mix, with 10 % of water in it \[kg\].
    pub salt_mix_kg: f64,
    /// Purified water for batches and top-off \[L\].
    #[serde(rename = "purified_water_L")]
    pub purified_l: f64,
}
