//! What `plan` answers, and the files that it makes.

use crate::results::WorkPlan;

/// A plan with its card.
#[derive(Debug)]
pub struct PlanResult {
    /// The plan.
    pub plan: WorkPlan,
    /// A card for each kind of change: file name and page.
    pub cards: Vec<(String, String)>,
}
