//! What `drift` is asked.

/// What is asked for.
#[derive(Clone, Debug)]
pub struct DriftRequest {
    /// The drift \[psu/d\].
    pub psu_per_d: f64,
    /// Days between readings.
    pub every_d: f64,
    /// Deviation of a reading \[psu\]; that of the scenario's meter where it is absent.
    pub deviation_psu: Option<f64>,
    /// A log: CSV with `date` (or `time_d`) and `salinity_psu`.
    pub log: Option<std::path::PathBuf>,
    /// How it is to be read.
    pub reading: crate::app::LogReading,
    /// What the log should stay at \[psu\]; the scenario's salinity where it is absent.
    pub target_psu: Option<f64>,
}
