//! What `correct` answers, and the files that it makes.

use crate::app::MeterScale;
use crate::results::Warning;

/// The plan of days.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct CorrectAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// Name of the scenario.
    pub scenario: String,
    /// `mass` or `ideal`.
    pub basis: String,
    /// Where the tank is \[psu\].
    pub from_psu: f64,
    /// Where it goes \[psu\].
    pub to_psu: f64,
    /// `changes`, `top-off` or `fresh`.
    pub by: String,
    /// What it may move in a day \[psu\].
    pub allowed_psu_per_d: f64,
    /// What it moves in a day \[psu\].
    pub rate_psu_per_d: f64,
    /// Solutes with their units, in the order of the days' values.
    #[serde(serialize_with = "crate::results::labelled::key_unit::list")]
    #[schemars(with = "Vec<crate::results::labelled::KeyUnit>")]
    pub solutes: Vec<(String, String)>,
    /// Day by day.
    pub days: Vec<CorrectLine>,
    /// Litres of new water in all.
    #[serde(rename = "litres_in_all_L")]
    pub litres: f64,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
    /// Cautions for the work itself.
    pub cautions: Vec<String>,
    /// The scale of the keeper's own meter, for the words.
    #[serde(skip)]
    pub meter: Option<MeterScale>,
}

/// One day.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct CorrectLine {
    /// Its number, from 1.
    pub day: u32,
    /// Litres of water that day.
    #[serde(rename = "litres_L")]
    pub litres: f64,
    /// Salinity to mix it to \[psu\].
    pub mix_psu: f64,
    /// Salinity in the evening before and after \[psu\].
    pub before_psu: f64,
    /// See above.
    pub after_psu: f64,
    /// Every solute in the evening.
    pub solutes: Vec<f64>,
}
