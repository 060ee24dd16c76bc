//! What `faults` is asked.

use crate::units::Duration;

/// When faults are on, and who looks.
#[derive(Clone, Debug)]
pub struct FaultsRequest {
    /// Names of those wanted; all where it is empty.
    pub only: Vec<String>,
    /// When they begin, as a person says it.
    pub at: Option<String>,
    /// When somebody is back and ends them.
    pub back: Option<String>,
    /// They last until they are seen.
    pub until_seen: bool,
    /// How often somebody looks.
    pub look: Duration,
    /// How often the salinity is read; the scenario's habit, or a week, where it is absent.
    pub read: Option<Duration>,
    /// Times their usual size.
    pub times: f64,
}
