//! What the keeper's own logs teach.

mod belief;
mod course;
mod drift;
mod explain;
mod explanation;
mod fit;
mod forecast;
mod readings;
mod recipe;
mod strength;

pub use belief::{Believed, Known, ReadingOf, Taken, Verdict, Wander};
pub use drift::{Detection, Habit, WAYS, Way, book_keeping_d, detection};
pub use explain::{Explained, explain, hangs_together};
pub use explanation::{Explanation, Jug, Noted};
pub use fit::{Estimate, Fit, LogFitError, LogModel, LogRow, Parameter, Precision};
pub use forecast::HeldOut;
pub use readings::{LogVerdict, ReadingRow, Tested, look_at_log};
pub use recipe::{Recipe, RecipeRow, learn_recipe};
pub use strength::{BatchRow, Learned, StrengthError, learn_strength};
