//! What `acclimate` answers.

use crate::results::Warning;

/// The answer, and the JSON of `acclimate`.
#[derive(Clone, Debug, serde::Serialize, schemars::JsonSchema)]
pub struct AcclimateAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// Always `ideal`: volumes add.
    pub basis: String,
    /// Water that the animals came in \[L\].
    #[serde(rename = "vessel_L")]
    pub vessel_l: f64,
    /// Its salinity \[psu\].
    pub from_psu: f64,
    /// That of the tank \[psu\].
    pub to_psu: f64,
    /// Flow of the drip \[L/h\].
    #[serde(rename = "flow_L_per_h")]
    pub flow_l_per_h: f64,
    /// Drops a second, at 20 in a millilitre.
    pub drops_per_s: f64,
    /// How often half is poured off.
    pub rounds: u32,
    /// Hours it takes.
    pub hours: f64,
    /// Tank water it takes \[L\].
    #[serde(rename = "litres_L")]
    pub litres: f64,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
    /// Cautions for the work itself.
    pub cautions: Vec<String>,
}
