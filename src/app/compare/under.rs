//! Variants under uncertainty, fixed schedules and those that go by a reading side by side: litres, work, the chance to keep every
//! band, and how bad it gets.

use rayon::prelude::*;

use crate::app::load::check_span;
use crate::app::members::Members;
use crate::app::{AppError, Loaded, within_reach};
use crate::model::Plan;
use crate::numerics::{DOUBT, chance_at_least, quantile};
use crate::results::UnderUncertainty;
use crate::study::{Going, Lived, Uncertainty, live};
use crate::units::Duration;

/// How variants are looked at.
#[derive(Clone, Debug)]
pub struct UnderRequest {
    /// What is uncertain.
    pub uncertainty: Uncertainty,
    /// Members of each.
    pub members: u64,
    /// For how long the bands are to be kept \[d\].
    pub span_d: f64,
    /// Seed.
    pub seed: u64,
}

/// Days for which a variant is in force before it is looked at: what goes by a reading has no settled cycle to begin in.
const IN_FORCE_D: u32 = 365;

/// Share of the members that are no worse than what is told as the worst.
const WORST: f64 = 0.95;

/// Looks at every variant in the same members.
pub(super) fn under(
    variants: &[(String, Loaded)],
    request: &UnderRequest,
    going: Going<'_>,
) -> Result<Vec<UnderUncertainty>, AppError> {
    check_span(request.span_d)?;
    if request.uncertainty.is_none() || variants[0].1.scenario.plan.bands.is_empty() {
        return Ok(Vec::new());
    }
    let until_d = f64::from(IN_FORCE_D) + request.span_d;
    let long = |l: &Loaded| Plan { horizon: Duration::from_days(until_d), ..l.scenario.plan.clone() };
    within_reach(variants.iter().map(|(_, l)| (long(l).work(), request.members as f64)))?;
    let mut list = Vec::new();
    for (k, (name, loaded)) in variants.iter().enumerate() {
        if !going(k as f64 / variants.len() as f64) {
            return Err(AppError::Stopped);
        }
        let (earlier, before) = loaded.begun_earlier(IN_FORCE_D, request.span_d, &[])?;
        let drawn = Members::new(&earlier, &request.uncertainty, request.seed);
        let begin = f64::from(before);
        let lived: Vec<Lived> = (0..request.members)
            .into_par_iter()
            .map(|m| {
                let plan = Plan { output_every: None, ..drawn.plan(m)? };
                Ok(live(&plan, begin, begin + request.span_d)?)
            })
            .collect::<Result<_, AppError>>()?;
        list.push(summed_up(name, &lived));
    }
    Ok(list)
}

fn summed_up(name: &str, lived: &[Lived]) -> UnderUncertainty {
    let n = lived.len().max(1) as f64;
    let mean = |of: &dyn Fn(&Lived) -> f64| lived.iter().map(of).sum::<f64>() / n;
    let kept = lived.iter().filter(|l| l.kept).count();
    let mut uses: Vec<f64> = lived.iter().map(|l| l.worst_use).collect();
    uses.sort_unstable_by(f64::total_cmp);
    let costs: Option<Vec<f64>> = lived.iter().map(|l| l.cost).collect();
    UnderUncertainty {
        name: name.to_owned(),
        chance: kept as f64 / n,
        at_least: chance_at_least(kept, lived.len(), DOUBT),
        worst_use: quantile(&uses, WORST),
        litres: mean(&|l| l.litres),
        salt_kg: mean(&|l| l.salt_kg),
        minutes: mean(&|l| l.minutes),
        cost: costs.map(|c| c.iter().sum::<f64>() / n),
    }
}
