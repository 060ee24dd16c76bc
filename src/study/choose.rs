//! Choosing a regime: what candidates settle to, how near they come to their bands, and what they take.

use super::grid::each_in_parallel;
use super::{Going, WalkError, walk_watched_from};
use crate::engine::{Nothing, SettleError, Simulation, Statistics, settle};
use crate::model::{Band, Id, Plan, Variable};
use crate::results::{Settled, SettledSolute};
use crate::units::{PracticalSalinity, Volume, YEAR_D};

/// What a regime takes in a year.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Yearly {
    /// Salt water \[L\].
    pub litres: f64,
    /// Dry sea salt \[kg\].
    pub salt_kg: f64,
    /// Minutes of work.
    pub minutes: f64,
    /// Money, where a price is known.
    pub cost: Option<f64>,
}

/// What a candidate settles to.
#[derive(Clone, Debug)]
pub struct Judged {
    /// The settled cycle.
    pub settled: Settled,
    /// What it takes in a year.
    pub yearly: Yearly,
}

/// Runs a candidate and finds its settled cycle.
pub fn judge(plan: &Plan) -> Result<Judged, SettleError> {
    let settled = settle(plan)?;
    let mut simulation = Simulation::new(plan)?;
    // Whole cycles, so that what is counted is the regime's rate and not where the run happens to end.
    let days = settled.cycle_d * (YEAR_D / settled.cycle_d).round().max(1.0);
    simulation.run_until(settled.cycle_d, &mut Nothing)?;
    let before = simulation.tally().clone();
    simulation.run_until(settled.cycle_d + days, &mut Nothing)?;
    let years = days / YEAR_D;
    let tally = simulation.tally().since(&before);
    Ok(Judged {
        settled,
        yearly: Yearly {
            litres: tally.salt_water_l / years,
            salt_kg: tally.salt_kg / years,
            minutes: tally.minutes(&plan.costs) / years,
            cost: tally.cost(&plan.costs).map(|c| c / years),
        },
    })
}

/// Judges every candidate, in order; nothing where it was asked to stop.
#[must_use]
pub fn judge_all(plans: &[Plan], going: Going<'_>) -> Option<Vec<Result<Judged, SettleError>>> {
    each_in_parallel(plans, going, judge)
}

/// The settled cycle of what a band is about.
#[must_use]
pub fn span<'a>(settled: &'a Settled, band: &Band) -> &'a SettledSolute {
    match band.of {
        Variable::Salinity => &settled.salinity_psu,
        Variable::Solute(i) => &settled.solutes[i.place()],
    }
}

/// How much of a band a settled cycle uses: 1 at an edge, more beyond it.
///
/// With two edges it is the distance from the middle over half the width; with one edge the value over
/// the edge, or the edge over the value.
#[must_use]
pub fn band_use(settled: &Settled, band: &Band) -> f64 {
    let span = span(settled, band);
    use_between(band, span.trough, span.peak)
}

/// How much of a band values from a trough to a peak use, as in [`band_use`].
pub(super) fn use_between(band: &Band, trough: f64, peak: f64) -> f64 {
    match (band.low, band.high) {
        (Some(low), Some(high)) => {
            let (middle, half) = (0.5 * (low + high), 0.5 * (high - low));
            (peak - middle).max(middle - trough) / half
        }
        (None, Some(high)) => peak / high,
        (Some(low), None) => {
            if trough > 0.0 {
                low / trough
            } else {
                f64::INFINITY
            }
        }
        (None, None) => 0.0,
    }
}

/// Where a regime is judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lens {
    /// In its settled cycle.
    Settled,
    /// In the second half of its run: for a regime that has no settled cycle, once its start matters less.
    SecondHalf,
    /// In its whole run.
    Run,
}

impl Lens {
    /// What a quantity does under it: it settles, or stays.
    #[must_use]
    pub const fn verb(self) -> &'static str {
        match self {
            Self::Settled => "settles",
            Self::SecondHalf | Self::Run => "stays",
        }
    }

    /// When what it says is so, to be put behind a verb.
    #[must_use]
    pub const fn when(self) -> &'static str {
        match self {
            Self::Settled => " once settled",
            Self::SecondHalf => " in the second half of the run",
            Self::Run => " over the run",
        }
    }

    /// How much of a band a plan uses, as in [`band_use`].
    pub fn band_use(self, plan: &Plan, band: &Band) -> Result<f64, SettleError> {
        let (trough, peak) = self.span(plan, band)?;
        Ok(use_between(band, trough, peak))
    }

    /// Lowest and highest value of what a band is about.
    pub fn span(self, plan: &Plan, band: &Band) -> Result<(f64, f64), SettleError> {
        match self {
            Self::Settled => {
                let settled = settle(plan)?;
                let span = span(&settled, band);
                Ok((span.trough, span.peak))
            }
            Self::SecondHalf | Self::Run => {
                let mut simulation = Simulation::new(plan)?;
                let days = plan.horizon.days();
                if self == Self::SecondHalf {
                    simulation.run_until(0.5 * days, &mut Nothing)?;
                }
                let mut statistics = Statistics::new(plan.species.len(), &[]);
                simulation.show("", &mut statistics);
                simulation.run_until(days, &mut statistics)?;
                let watch = statistics.variables.iter().find(|w| w.of == Some(band.of));
                Ok(watch.map_or((f64::NAN, f64::NAN), |w| (w.lowest.0, w.highest.0)))
            }
        }
    }
}

/// Largest use of any band.
#[must_use]
pub fn worst_use(settled: &Settled, bands: &[Band]) -> f64 {
    bands.iter().map(|b| band_use(settled, b)).fold(0.0, f64::max)
}

/// A use of a band this little past its edge is a rounding.
const ON_THE_EDGE: f64 = 1e-9;

/// Whether a settled cycle keeps every band.
#[must_use]
pub fn keeps(settled: &Settled, bands: &[Band]) -> bool {
    worst_use(settled, bands) <= 1.0 + ON_THE_EDGE
}

/// Whether each point is on the front: no other is at most as large in both numbers and less in one.
#[must_use]
pub fn on_front(points: &[Option<(f64, f64)>]) -> Vec<bool> {
    points
        .iter()
        .map(|point| {
            let Some((a, b)) = point else { return false };
            !points.iter().flatten().any(|(c, d)| c <= a && d <= b && (c < a || d < b))
        })
        .collect()
}

/// The plan as if its regime had long been in force: it starts in its settled cycle.
#[must_use]
pub fn started_settled(plan: &Plan, settled: &Settled) -> Plan {
    let mut plan = plan.clone();
    let amounts = crate::model::Amounts::from(settled.start.clone());
    let law = crate::model::VolumeLaw::at(
        plan.basis,
        PracticalSalinity::from_psu(settled.salinity_psu.mean),
        plan.tank.temperature,
    );
    let Ok(law) = law else { return plan };
    let litres = law.volume(amounts.water_kg(), amounts.salt_kg());
    plan.tank.salinity = PracticalSalinity::from_psu(law.salinity_psu(amounts.water_kg(), amounts.salt_kg()));
    plan.tank.volume = Volume::from_litres(litres);
    for (species, amount) in plan.species.iter_mut().zip(amounts.solutes()) {
        species.initial = amount / litres;
    }
    plan
}

/// Which of `count` members, all made of `common`, keep every band from a day on until the end of their run.
pub fn kept_each<E: From<WalkError> + Send>(
    from_d: usize,
    common: &Plan,
    count: usize,
    member: &(impl Fn(usize) -> Result<Plan, E> + Sync),
) -> Result<Vec<bool>, E> {
    let fates = walk_watched_from(from_d, common, count, member, &|_| true, |_| Ok(()))?;
    Ok(fates.iter().map(|fate| fate.left_d.iter().all(Option::is_none)).collect())
}

/// The least size of a remedy, between nothing and `most`, with which a band is kept; nothing where even
/// `most` does not do it. `apply` puts a remedy of a size into a plan.
pub fn least_remedy(plan: &Plan, lens: Lens, band: &Band, most: f64, apply: impl Fn(&mut Plan, f64)) -> Option<f64> {
    let excess = |size: f64| -> Result<f64, SettleError> {
        let mut plan = plan.clone();
        plan.output_every = None;
        apply(&mut plan, size);
        Ok(lens.band_use(&plan, band)? - 1.0)
    };
    if excess(most).ok()? > 0.0 {
        return None;
    }
    let found = crate::numerics::find_root(|size| excess(size).unwrap_or(f64::NAN), 0.0, most, 1e-6 * most).ok()?;
    // The root may lie a hair on the wrong side.
    Some((found * (1.0 + 1e-5)).min(most))
}
