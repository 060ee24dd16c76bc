//! Why a plan cannot be run.

use crate::model::{KineticsError, PlanError};
use crate::seawater::RangeError;

/// A plan that cannot be run.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum EngineError {
    /// A salinity or temperature outside the equation of state.
    #[error(transparent)]
    Range(#[from] RangeError),
    /// Something that is no plan.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// A state of another tank.
    #[error("this state cannot be continued: {0}")]
    State(String),
    /// A reaction network with a ring.
    #[error(transparent)]
    Kinetics(#[from] KineticsError),
    /// Nobody waits for it any more.
    #[error("the run was stopped")]
    Stopped,
}
