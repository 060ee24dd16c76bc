//! What `fit` is asked.

use std::path::PathBuf;

use crate::app::log::LogReading;

/// What is asked for.
#[derive(Clone, Debug)]
pub struct FitRequest {
    /// The log.
    pub log: PathBuf,
    /// When somebody who tops off by hand reads; what fits better where it is absent.
    pub jug: Option<crate::learn::Jug>,
    /// How it is to be read.
    pub reading: LogReading,
    /// The number that is wanted; the settled peak of the first solute, or salinity, where it is absent.
    pub want: Option<String>,
    /// Relative standard deviation of a test kit.
    pub kit: f64,
    /// Share of the log, from its end, that is held out to try the forecast.
    pub held_out: f64,
    /// Seed.
    pub seed: u64,
}
