//! What `treat` answers.

use crate::results::Warning;

/// The answer, and the JSON of `treat`.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct TreatAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// Where it begins and ends \[psu\].
    pub from_psu: f64,
    /// Where it is held \[psu\].
    pub at_psu: f64,
    /// Days held.
    pub hold_d: u32,
    /// For what lives there.
    pub animals: String,
    /// Most that it may fall in a day \[psu/d\].
    pub down_psu_per_d: f64,
    /// Most that it may rise in a day \[psu/d\].
    pub up_psu_per_d: f64,
    /// Medicines with the unit of their amounts, in the order of the days' doses.
    pub medicines: Vec<MedicineLine>,
    /// Day by day, as far as something is done.
    pub days: Vec<TreatLine>,
    /// New water in all \[L\].
    #[serde(rename = "litres_in_all_L")]
    pub litres: f64,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
    /// Cautions for the work itself.
    pub cautions: Vec<String>,
}

/// A medicine.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct MedicineLine {
    /// Its name.
    pub name: String,
    /// Unit of the amounts dosed.
    pub unit: String,
    /// What it is held at.
    pub held_at: f64,
    /// Unit of that.
    pub held_unit: String,
    /// Dosed in all.
    pub in_all: f64,
}

/// A day on which something is done.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct TreatLine {
    /// Its number, from 1.
    pub day: u32,
    /// `down`, `hold` or `up`.
    pub phase: &'static str,
    /// New water \[L\].
    #[serde(rename = "litres_L")]
    pub litres: f64,
    /// Salinity to mix it to \[psu\].
    pub mix_psu: f64,
    /// Salinity of the tank in the evening \[psu\].
    pub evening_psu: f64,
    /// What to dose in the evening, medicine by medicine.
    pub doses: Vec<f64>,
}
