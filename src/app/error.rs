//! Everything that can go wrong between the user and the library.

use std::path::PathBuf;

use crate::engine::EngineError;
use crate::export::ExportError;
use crate::scenario::{Problems, SetError};
use crate::seawater::RangeError;
use crate::study::WalkError;

/// A failed use case.
#[derive(Debug, thiserror::Error)]
pub enum AppError {
    /// Mistakes in a scenario or its overrides.
    #[error("{0}")]
    Problems(#[from] Problems),
    /// An override that cannot be read.
    #[error("error: {0}")]
    Set(#[from] SetError),
    /// A file that cannot be read.
    #[error("error: {path} cannot be read: {why}", path = path.display())]
    Read {
        /// Which.
        path: PathBuf,
        /// Why.
        why: String,
    },
    /// A file or folder that cannot be written.
    #[error("error: {path} cannot be written: {why}\n  = help: choose another folder with --out", path = path.display())]
    Write {
        /// Which.
        path: PathBuf,
        /// Why.
        why: String,
    },
    /// A file that must not be overwritten.
    #[error("error: {path} is there already\n  = help: choose another name, or remove it first", path = _0.display())]
    Exists(PathBuf),
    /// The file of a station where a scenario was asked for.
    #[error(
        "error: {0} is the file of a station, and this command takes one tank\n  = help: brinecast station {0}; for one of its tanks give that tank's own scenario"
    )]
    IsStation(String),
    /// A name that is neither a file nor a built-in scenario.
    #[error("error: there is no file and no built-in scenario `{name}`\n  = help: {help}")]
    NoScenario {
        /// What was asked for.
        name: String,
        /// What there is.
        help: String,
    },
    /// A plan that cannot be run.
    #[error("error: {0}")]
    Engine(EngineError),
    /// A salinity or temperature outside the equation of state.
    #[error("error: {0}")]
    Range(#[from] RangeError),
    /// Results that could not be turned into bytes.
    #[error("error: {0}")]
    Export(#[from] ExportError),
    /// The user asked to stop.
    #[error("stopped: nothing half-written is left")]
    Stopped,
    /// A request that makes no sense, with what to do.
    #[error("error: {0}")]
    Usage(String),
}

impl From<EngineError> for AppError {
    fn from(error: EngineError) -> Self {
        if error == EngineError::Stopped { Self::Stopped } else { Self::Engine(error) }
    }
}

impl From<WalkError> for AppError {
    fn from(error: WalkError) -> Self {
        match error {
            WalkError::Engine(error) => error.into(),
            WalkError::Stopped => Self::Stopped,
        }
    }
}
