//! What `now` is asked.

use std::path::PathBuf;

use jiff::civil::DateTime;

use crate::app::log::LogReading;
use crate::learn::Jug;

/// What is asked for.
#[derive(Clone, Debug)]
pub struct NowRequest {
    /// The log.
    pub log: PathBuf,
    /// How it is to be read.
    pub reading: LogReading,
    /// When somebody who tops off by hand reads; what fits better where it is absent.
    pub jug: Option<Jug>,
    /// Relative standard deviation of a test kit.
    pub kit: f64,
    /// The moment that is asked about; that of the last row where it is absent.
    pub at: Option<DateTime>,
    /// How far to look ahead \[d\].
    pub ahead_d: f64,
    /// Members of the look ahead.
    pub members: u64,
    /// Seed.
    pub seed: u64,
}
