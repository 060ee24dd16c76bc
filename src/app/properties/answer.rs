//! What `properties` answers.

use crate::results::Warning;

/// The answer, and the JSON of `properties`.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct PropertiesAnswer {
    /// Version of the program.
    pub brinecast: String,
    /// A row a salinity.
    pub rows: Vec<PropertyRow>,
    /// The temperature as it was given.
    pub temperature: String,
    /// Warnings with advice.
    pub warnings: Vec<Warning>,
}

/// Properties at one salinity; absent where a formula does not reach.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct PropertyRow {
    /// Practical salinity \[psu\].
    pub salinity_psu: f64,
    /// Density \[kg/m³\].
    pub density_kg_per_m3: Option<f64>,
    /// Specific gravity at 25/25 °C.
    pub sg_25_25: Option<f64>,
    /// Conductivity \[mS/cm\].
    #[serde(rename = "conductivity_mS_per_cm")]
    pub conductivity_ms_per_cm: Option<f64>,
    /// Refractive index at 589 nm.
    pub refractive_index: Option<f64>,
    /// Specific heat [J/(kg K)].
    #[serde(rename = "heat_capacity_J_per_kg_K")]
    pub heat_capacity: Option<f64>,
    /// Vapour pressure \[Pa\].
    #[serde(rename = "vapour_pressure_Pa")]
    pub vapour_pressure_pa: Option<f64>,
    /// Oxygen at saturation [µmol/kg].
    pub oxygen_umol_per_kg: Option<f64>,
    /// Un-ionised share of total ammonia, where a pH was given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub toxic_ammonia_share: Option<f64>,
}
