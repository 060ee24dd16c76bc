//! What the keeper's own logs teach.

mod strength;

pub use strength::{BatchRow, Learned, StrengthError, learn_strength};
