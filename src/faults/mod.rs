//! What goes wrong: the trait that every fault will implement, one file each. There is none yet.

pub use crate::model::Disturbance;
