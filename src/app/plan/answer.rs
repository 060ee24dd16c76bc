//! What `plan` answers, and the files that it makes.

use super::words::text;
use crate::app::{Answer, AppError, Loaded};
use crate::export;
use crate::results::WorkPlan;

/// A plan with its card.
#[derive(Debug)]
pub struct PlanResult {
    /// The plan.
    pub plan: WorkPlan,
    /// A card for each kind of change: file name and page.
    pub cards: Vec<(String, String)>,
}

impl Answer for PlanResult {
    type Of = Loaded;
    type Data = WorkPlan;

    const COMMAND: &'static str = "plan";

    fn data(&self) -> &WorkPlan {
        &self.plan
    }

    fn text(&self, of: &Loaded, width: usize) -> String {
        text(&self.plan, of.scenario.units, width)
    }

    fn cautions(&self) -> &[String] {
        &self.plan.cautions
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        let mut files = vec![
            ("plan.ics".into(), export::calendar_ics(&self.plan).into_bytes()),
            ("plan.csv".into(), export::plan_csv(&self.plan)?),
            ("shopping.csv".into(), export::shopping_csv(&self.plan)?),
        ];
        files.extend(self.cards.iter().map(|(name, page)| (name.clone(), page.clone().into_bytes())));
        Ok(files)
    }
}
