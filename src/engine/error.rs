//! Why a plan cannot be run.

use crate::model::KineticsError;
use crate::seawater::RangeError;

/// A plan that cannot be run.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum EngineError {
    /// A salinity or temperature outside the equation of state.
    #[error(transparent)]
    Range(#[from] RangeError),
    /// A reaction network with a ring.
    #[error(transparent)]
    Kinetics(#[from] KineticsError),
}
