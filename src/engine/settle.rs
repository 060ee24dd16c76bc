//! What a regime settles to: its cycle, or with a season its year.

use super::settled_cycle::{SettleError, settled_cycle};
use super::settled_year::settled_year;
use crate::model::{Evaporation, Plan};
use crate::results::Settled;

/// Finds the settled cycle of a plan; its disturbances, horizon and output grid do not matter,
/// nor a period that does not come again. A float of two levels counts as one that holds the level
/// half way between them.
///
/// ```
/// use brinecast::{app::load, engine::settle};
/// let plan = load("mixed-reef", &["change.every=7 d".into()])?.scenario.plan;
/// let settled = settle(&plan).expect("what comes at fixed intervals repeats");
/// assert!(settled.salinity_psu.trough <= settled.salinity_psu.mean);
/// # Ok::<(), brinecast::app::AppError>(())
/// ```
pub fn settle(plan: &Plan) -> Result<Settled, SettleError> {
    let mut plan = plan.clone();
    plan.disturbances.clear();
    plan.output_every = None;
    // A float of two levels swings by itself, out of step with all else.
    plan.regimes_mut().for_each(|regime| regime.top_off.without_gap());
    // What comes but once is over.
    plan.periods.retain(|p| p.yearly);
    if !plan.periods.is_empty() {
        return settled_year(&plan);
    }
    match plan.regime.evaporation {
        Evaporation::Constant(_) => settled_cycle(&plan),
        Evaporation::Seasonal { .. } => settled_year(&plan),
        Evaporation::Table(_) | Evaporation::Daily(_) => {
            Err(SettleError::NotPeriodic("evaporation goes by a table".into()))
        }
    }
}
