//! What the keeper's own logs teach.

mod drift;
mod strength;

pub use drift::{Detection, Habit, LogVerdict, ReadingRow, WAYS, Way, book_keeping_d, detection, look_at_log};
pub use strength::{BatchRow, Learned, StrengthError, learn_strength};
