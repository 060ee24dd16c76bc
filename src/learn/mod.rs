//! What the keeper's own logs teach.

mod belief;
mod cloud;
mod course;
mod drift;
mod explain;
mod explanation;
mod filter;
mod filter_readings;
mod fit;
mod forecast;
mod known;
mod prior;
mod readings;
mod recipe;
mod strength;

pub use cloud::Cloud;
pub use drift::{Detection, Habit, WAYS, Way, book_keeping_d, detection};
pub use explain::{Explained, explain, hangs_together};
pub use explanation::{Explanation, Jug, Noted};
pub use fit::{Estimate, Fit, LogFitError, LogModel, LogRow, Precision};
pub use forecast::HeldOut;
pub use known::{Believed, Known, ReadingOf, Taken, Verdict, Wander, Worth};
pub use prior::Parameter;
pub use readings::{LogVerdict, ReadingRow, Tested, look_at_log};
pub use recipe::{Recipe, RecipeRow, learn_recipe};
pub use strength::{BatchRow, Learned, StrengthError, learn_strength};
