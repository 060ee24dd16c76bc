//! What goes wrong: one file a fault.

pub use crate::model::Disturbance;
