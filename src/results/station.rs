//! What a station with its tanks comes to.

use super::Warning;
use crate::units::{UnitSystem, significant, trimmed};

/// The answer of `station`.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct StationAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the station's file.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// Seed of chance.
    pub seed: u64,
    /// The answer in a sentence.
    pub answer: String,
    /// Its first sentence without its stop: what is found.
    #[serde(skip)]
    pub finding: String,
    /// The chance of a shortage with the fresh store that there is, and the chance that is accepted.
    pub shortage_chance: f64,
    /// See above.
    pub accepted: f64,
    /// Days run.
    pub days: f64,
    /// Each tank.
    pub tanks: Vec<TankLine>,
    /// Needs that were not met in time: how many changes late, smaller or left out, refills short.
    pub late_changes: usize,
    /// See above.
    pub smaller_changes: usize,
    /// See above.
    pub short_refills: usize,
    /// Sizes.
    pub sizing: Vec<SizeLine>,
    /// Salt mix to hold between deliveries.
    pub salt_store: SaltStoreLine,
    /// What carries the station over days without any supply.
    pub without_supply: WithoutSupply,
    /// Chance of shortage of the fresh store by size.
    pub shortage: Vec<ShortageChance>,
    /// How often the purifier starts, and how long it runs.
    pub purifier: PurifierUse,
    /// What the stores hold, by midnight; every moment is in `levels.csv`.
    pub levels: Vec<LevelLine>,
    /// Needs that were not met in time, each by itself.
    pub unmet: Vec<UnmetLine>,
    /// Batches that were mixed.
    pub batches: Vec<BatchLine>,
    /// Trips of the van, where there is one.
    pub trips: Vec<TripLine>,
    /// What a year uses.
    pub year: Vec<YearLine>,
    /// What a first fill of all tanks takes.
    pub first_fill: Vec<YearLine>,
    /// The round of one day.
    pub round: Round,
    /// Largest amount by which fresh water or salt do not close, as a share.
    pub residual: f64,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
    /// Cautions for the work itself.
    pub cautions: Vec<String>,
}

impl StationAnswer {
    /// What begins the answer where the run has water enough and chance has not.
    pub const UNSURE: &str = "Not for certain.";
    /// The fresh store's sizes, as they are called.
    pub const BY_CHANCE: &str = "fresh water, by chance";
    /// See above.
    pub const THIS_RUN: &str = "fresh water, this run";

    /// Whether there is enough water: in the run, and with the chance that was asked for.
    #[must_use]
    pub fn enough(&self) -> bool {
        self.unmet.is_empty() && self.shortage_chance <= self.accepted
    }
}

/// Salt mix in store.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct SaltStoreLine {
    /// To hold after a delivery \[kg\].
    pub needed_kg: f64,
    /// What the file gives \[kg\]; nothing where it never runs out.
    pub given_kg: Option<f64>,
    /// Most used between two deliveries in the run \[kg\].
    pub most_used_kg: f64,
    /// By what reckoning.
    pub because: String,
}

/// What carries the station over days without water and salt from outside.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct WithoutSupply {
    /// How many days.
    pub days: f64,
    /// Fresh store that lasts, heel included \[L\].
    #[serde(rename = "fresh_store_L")]
    pub fresh_l: f64,
    /// What of it lies below the outlet \[L\].
    #[serde(rename = "heel_L")]
    pub heel_l: f64,
    /// Salt mix that lasts \[kg\].
    pub salt_mix_kg: f64,
    /// Date on which the days that take most of fresh water begin.
    pub from: String,
}

/// Chance of shortage at a size.
#[derive(Clone, Copy, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct ShortageChance {
    /// Size of the fresh store \[L\], heel left out.
    #[serde(rename = "fresh_store_L")]
    pub size_l: f64,
    /// Chance that it runs dry in the run.
    pub chance: f64,
}

/// What the purifier does.
#[derive(Clone, Copy, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct PurifierUse {
    /// Starts in the run.
    pub starts: usize,
    /// Starts a day.
    pub starts_per_d: f64,
    /// Hours of running a day.
    pub hours_per_d: f64,
}

/// What the stores hold at a moment.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct LevelLine {
    /// When \[d\].
    pub time_d: f64,
    /// When, date and time.
    pub date: String,
    /// Fresh water, heel included \[L\].
    #[serde(rename = "fresh_L")]
    pub fresh_l: f64,
    /// Salt water that is ready \[L\].
    #[serde(rename = "salt_water_L")]
    pub salt_water_l: f64,
    /// Salt mix in store \[kg\]; below zero what was used since a delivery, where the store has no end.
    pub salt_mix_kg: f64,
    /// Whether the purifier runs from here on.
    pub purifier_on: bool,
}

/// A need that was not met in time.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct UnmetLine {
    /// When it was due \[d\].
    pub due_d: f64,
    /// When it was due, date and time.
    pub due: String,
    /// Which tank.
    pub tank: String,
    /// `change` or `refill`.
    pub what: String,
    /// How late it was done, or given up \[d\].
    pub late_d: f64,
    /// Litres that were missing.
    #[serde(rename = "missing_L")]
    pub missing_l: f64,
    /// Why.
    pub why: String,
}

/// A batch.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct BatchLine {
    /// In which vessel, counted from 1 in the order of the file.
    pub vessel: usize,
    /// When filling began.
    pub begin: String,
    /// When the salt went in.
    pub salted: String,
    /// When it may be used.
    pub ready: String,
    /// Finished litres.
    #[serde(rename = "finished_L")]
    pub litres: f64,
    /// Salt mix \[kg\].
    pub salt_mix_kg: f64,
}

/// A trip of the van.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct TripLine {
    /// When it leaves, date and time.
    pub leaves: String,
    /// When it is back.
    pub back: String,
    /// Salt water on it \[L\].
    #[serde(rename = "salt_water_L")]
    pub salt_water_l: f64,
    /// Fresh water on it \[L\].
    #[serde(rename = "fresh_L")]
    pub fresh_l: f64,
    /// Mass of both \[kg\].
    pub mass_kg: f64,
    /// Its stops.
    pub stops: Vec<RoundStop>,
}

/// A tank of the station.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct TankLine {
    /// Its name.
    pub name: String,
    /// Lowest and highest salinity \[psu\].
    pub salinity_low: f64,
    /// See above.
    pub salinity_high: f64,
    /// Changes done.
    pub changes: usize,
    /// Litres of new water.
    #[serde(rename = "changed_L")]
    pub changed_l: f64,
    /// Top-off used \[L\].
    #[serde(rename = "top_off_L")]
    pub top_off_l: f64,
    /// First day on which a band is left.
    pub left_at_d: Option<f64>,
}

/// A size with its reason.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct SizeLine {
    /// Of what.
    pub what: String,
    /// Litres that are needed.
    #[serde(rename = "needed_L")]
    pub needed_l: f64,
    /// A plain size that holds it \[L\]; nothing where several are needed.
    #[serde(rename = "plain_L")]
    pub plain_l: Option<f64>,
    /// Full mass \[kg\].
    pub full_kg: f64,
    /// Pressure under its base \[kPa\]; nothing where several are needed.
    #[serde(rename = "floor_kPa")]
    pub floor_kpa: Option<f64>,
    /// By what reckoning.
    pub because: String,
}

/// An amount of a year, with where its input comes from.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct YearLine {
    /// What.
    pub what: String,
    /// How much.
    pub amount: f64,
    /// Unit.
    pub unit: String,
    /// The inputs it hangs on.
    pub inputs: String,
}

impl YearLine {
    /// Amount and unit as a reader wants them. What is counted in pieces and is no whole number is a rate.
    #[must_use]
    pub fn shown(&self, units: UnitSystem) -> [String; 2] {
        let shown = units.shown(&self.unit);
        let pieces = self.unit.is_empty() && self.amount.fract() != 0.0;
        let amount = if pieces {
            format!("about {}", trimmed(self.amount, usize::from(self.amount < FEW)))
        } else {
            significant(shown.value(self.amount), 4)
        };
        [amount, shown.unit]
    }
}

/// Pieces a year below which a tenth of one is worth saying.
const FEW: f64 = 5.0;

/// The round of one day.
#[derive(Clone, Debug, Default, serde::Serialize, schemars::JsonSchema)]
pub struct Round {
    /// The day.
    pub day: String,
    /// Tanks in the order in which they are served.
    pub stops: Vec<RoundStop>,
    /// Salt water to load \[L\].
    #[serde(rename = "salt_water_L")]
    pub salt_water_l: f64,
    /// Fresh water to load \[L\].
    #[serde(rename = "fresh_L")]
    pub fresh_l: f64,
    /// Mass of both \[kg\].
    pub mass_kg: f64,
    /// Containers that are carried by hand, and the mass of a full one \[kg\].
    pub containers: u32,
    /// See above.
    pub container_kg: f64,
    /// Minutes in all.
    pub minutes: f64,
}

/// One tank of the round.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct RoundStop {
    /// Its name.
    pub name: String,
    /// When the van is there; empty where there is no van.
    pub arrive: String,
    /// Whether something in it is ill.
    pub sick: bool,
    /// Litres to take out.
    #[serde(rename = "out_L")]
    pub out_l: f64,
    /// Litres of mother batch to put in.
    #[serde(rename = "mother_L")]
    pub mother_l: f64,
    /// Litres of fresh water to put in with it.
    #[serde(rename = "trim_L")]
    pub trim_l: f64,
    /// Litres for its top-off reservoir.
    #[serde(rename = "top_off_L")]
    pub top_off_l: f64,
    /// Minutes.
    pub minutes: f64,
}
