//! What a regime settles to: its cycle, or with a season its year.

use super::settled_cycle::{SettleError, settled_cycle};
use super::settled_year::settled_year;
use crate::model::{Evaporation, Plan};
use crate::results::Settled;

/// Finds the settled cycle of a plan; its disturbances, horizon and output grid do not matter,
/// nor a period that does not come again. A float of two levels counts as one that holds the level
/// half way between them, with its swing in the lowest and the highest values.
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
    // A float of two levels swings by itself, out of step with all else: round the level half way between them.
    let gap = plan.regimes().map(|regime| regime.top_off.gap.litres()).fold(0.0, f64::max);
    plan.regimes_mut().for_each(|regime| regime.top_off.without_gap());
    // What comes but once is over.
    plan.periods.retain(|p| p.yearly);
    let mut settled = match plan.regime.evaporation {
        Evaporation::Table(_) | Evaporation::Daily(_) => {
            return Err(SettleError::NotPeriodic("evaporation follows a table".into()));
        }
        Evaporation::Constant(_) if plan.periods.is_empty() => settled_cycle(&plan)?,
        Evaporation::Constant(_) | Evaporation::Seasonal { .. } => settled_year(&plan)?,
    };
    if gap > 0.0 {
        swing(&mut settled, 0.5 * gap / (plan.tank.operating + plan.regime.top_off.level_offset).litres());
    }
    Ok(settled)
}

/// Widens what a settled cycle spans by a level that swings by a share to either side.
fn swing(settled: &mut Settled, share: f64) {
    for span in std::iter::once(&mut settled.salinity_psu).chain(&mut settled.solutes) {
        (span.trough, span.peak) = (span.trough / (1.0 + share), span.peak / (1.0 - share));
    }
}
