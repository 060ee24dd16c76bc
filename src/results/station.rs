//! What a station with its tanks comes to.

use super::Warning;
use crate::units::{UnitSystem, significant, trimmed};

/// The answer of `station`.
#[derive(Clone, Debug, serde::Serialize)]
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
    /// Salt mix to hold between deliveries \[kg\], and by what reckoning.
    pub salt_store: (f64, String),
    /// Chance of shortage of the fresh store by size.
    pub shortage: Vec<(f64, f64)>,
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

/// A tank of the station.
#[derive(Clone, Debug, serde::Serialize)]
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
#[derive(Clone, Debug, serde::Serialize)]
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
#[derive(Clone, Debug, serde::Serialize)]
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
#[derive(Clone, Debug, Default, serde::Serialize)]
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
#[derive(Clone, Debug, serde::Serialize)]
pub struct RoundStop {
    /// Its name.
    pub name: String,
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
