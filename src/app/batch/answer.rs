//! The answer of `batch`, and its JSON.

use crate::results::Warning;
use crate::sizing::{Batch, Step};

/// A vessel in the answer.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct VesselAnswer {
    /// Filled to the brim \[L\].
    #[serde(rename = "brim_L")]
    pub brim_l: f64,
    /// Full mass, with one mix \[kg\].
    pub full_kg: f64,
    /// Load under its base \[kPa\].
    #[serde(rename = "floor_kPa")]
    pub floor_kpa: f64,
}

/// One of the mixes that a need takes.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct MixAnswer {
    /// Salt mix in it \[kg\].
    pub salt_mix_kg: f64,
    /// Purified water to draw for it \[L\].
    #[serde(rename = "fresh_water_L")]
    pub fresh_water_l: f64,
    /// What stands in the vessel then \[L\].
    #[serde(rename = "finished_L")]
    pub finished_l: f64,
    /// Litres by which it grows while the salt dissolves.
    #[serde(rename = "growth_L")]
    pub growth_l: f64,
    /// Its mass \[kg\].
    pub mass_kg: f64,
}

impl From<&Batch> for MixAnswer {
    fn from(batch: &Batch) -> Self {
        Self {
            salt_mix_kg: batch.salt_mix.kg(),
            fresh_water_l: batch.fresh_water.litres(),
            finished_l: batch.finished.litres(),
            growth_l: batch.growth.litres(),
            mass_kg: batch.mass.kg(),
        }
    }
}

/// How long a batch takes to come to the air of the room, from and to over what its CO2 may begin with.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct AirAnswer {
    /// How it is moved: `pump-and-air-stone`, `pump`, `calm`.
    pub stirring: String,
    /// Hours until its pH is within 0.05 of that in equilibrium.
    #[serde(serialize_with = "crate::results::labelled::range")]
    #[schemars(with = "crate::results::labelled::LowHigh")]
    pub settles_h: [f64; 2],
    /// Hours until its pH is at most 8.4 (NBS); absent where it stays above.
    #[serde(serialize_with = "crate::results::labelled::range_option")]
    #[schemars(with = "Option<crate::results::labelled::LowHigh>")]
    pub releases_h: Option<[f64; 2]>,
}

/// A task of the timetable of one mix.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct TaskAnswer {
    /// Which step.
    pub step: Step,
    /// What is done.
    pub task: String,
    /// Begins so long before the mix is ready \[h\].
    pub before_h: f64,
    /// Takes \[h\].
    pub hours: f64,
}

/// Hours of the clock.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct ClockAnswer {
    /// When it must be ready.
    pub ready_by: String,
    /// When to begin.
    pub begin: String,
    /// When it is ready at the earliest, where that is too late.
    pub ready_at: Option<String>,
}

/// Stored water.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct StoreAnswer {
    /// How it is closed.
    pub lid: String,
    /// Salinity by the day of use \[psu\]; absent where it is above 42.
    pub salinity_psu: Option<f64>,
    /// Fresh water that puts it right \[L\].
    #[serde(rename = "fresh_water_L")]
    pub fresh_water_l: f64,
    /// Days until it is off by the tolerance; absent where it never is.
    pub keeps_d: Option<f64>,
}

/// The answer, and the JSON of `batch`.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct BatchAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// Always `mass`.
    pub basis: String,
    /// Target \[psu\].
    pub salinity_psu: f64,
    /// Temperature \[°C\].
    #[serde(rename = "temperature_C")]
    pub temperature_c: f64,
    /// Mixes that the need takes in the vessel: all that follows is of one of them, but for what is said to be in all.
    pub mixes: u32,
    /// The first mix; the others are the same, or, where they begin with a heel, with a heel of finished water.
    pub each: MixAnswer,
    /// The mixes after the first, where they differ from it.
    pub later: Option<MixAnswer>,
    /// Salt mix in all \[kg\].
    pub salt_mix_kg: f64,
    /// Purified water to draw in all \[L\].
    #[serde(rename = "fresh_water_L")]
    pub fresh_water_l: f64,
    /// Finished volume in all \[L\].
    #[serde(rename = "finished_L")]
    pub finished_l: f64,
    /// First dose of each mix \[kg\].
    pub first_dose_kg: f64,
    /// Salinity to expect after it \[psu\].
    pub first_dose_psu: f64,
    /// Chance that the staged doses overshoot the target.
    pub overshoot_chance: f64,
    /// Doses to expect.
    pub rounds: u32,
    /// Salinity to expect after the last of them \[psu\].
    pub last_dose_psu: f64,
    /// Mass of the finished water in all \[kg\].
    pub mass_kg: f64,
    /// Scoops for the first dose, and the salinity's spread that scooping brings \[psu\].
    pub scoops: f64,
    /// See above.
    pub scoop_spread_psu: f64,
    /// Mix for 1 psu up \[g\], fresh water for 1 psu down \[L\].
    pub per_psu_up_g: f64,
    /// See above.
    #[serde(rename = "per_psu_down_L")]
    pub per_psu_down_l: f64,
    /// Limits between which the batch may be used, on the scale of the meter.
    pub go_low: f64,
    /// See above.
    pub go_high: f64,
    /// That scale.
    pub go_scale: String,
    /// What the meter reads on that scale at the target and after the first dose; absent where it does not reach.
    pub target_reading: Option<f64>,
    /// See above.
    pub first_dose_reading: Option<f64>,
    /// The vessel.
    pub vessel: Option<VesselAnswer>,
    /// Heat in all \[kWh\], without losses.
    #[serde(rename = "heat_kWh")]
    pub heat_kwh: f64,
    /// pH in equilibrium with the room, on the total scale.
    pub ph_total: Option<f64>,
    /// The same on the NBS scale of keepers' meters.
    pub ph_nbs: Option<f64>,
    /// Hours for the air of the room, the quickest way first.
    pub air: Vec<AirAnswer>,
    /// Saturation state of aragonite at equilibrium, and where the salt lies in the water 50 % too strong.
    pub aragonite: Option<[f64; 2]>,
    /// Steps of one mix, counted back from when it is ready.
    pub timetable: Vec<TaskAnswer>,
    /// Hours for all mixes, one after the other in one vessel.
    pub hours_in_all: f64,
    /// The hours of the clock, where it was asked for a certain hour.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clock: Option<ClockAnswer>,
    /// Days until it is used.
    pub stored_d: f64,
    /// Stored water by the kind of lid.
    pub store: Vec<StoreAnswer>,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
    /// Cautions.
    pub cautions: Vec<String>,
}
