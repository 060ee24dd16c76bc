//! What the choice would be with new water mixed so that the salinity settles in the middle of its band.

use super::candidate::candidate;
use super::request::{ChooseRequest, Least};
use super::show::regime;
use crate::app::Loaded;
use crate::model::{Plan, Variable};
use crate::results::{Candidate, Way};
use crate::sizing::mix_to;
use crate::solutes::View;
use crate::study::{Judged, KeyRange, band_use, judge};
use crate::units::{PracticalSalinity, significant, trimmed};

/// Share of the best by which another must be less to be worth another strength of new water.
const WORTH: f64 = 0.05;

/// What all candidates have in common.
pub(super) struct Tried<'a> {
    pub(super) loaded: &'a Loaded,
    pub(super) request: &'a ChooseRequest,
    pub(super) ranges: &'a [KeyRange],
    pub(super) plans: &'a [Plan],
    pub(super) candidates: &'a [Candidate],
    pub(super) judged: &'a [Result<Judged, crate::engine::SettleError>],
}

impl Tried<'_> {
    /// The least plan that keeps every band once its new water is mixed for it, where it takes clearly less than the best
    /// or no other keeps them. Only where the salinity of new water is free, nothing is left to chance and no other tank
    /// is asked about.
    pub(super) fn with_mix(&self, best: Option<usize>) -> Option<Way> {
        let (base, least) = (&self.loaded.scenario.plan, self.request.least);
        let band = base.bands.iter().find(|b| b.of == Variable::Salinity)?;
        let middle = 0.5 * (band.low? + band.high?);
        let [change] = base.regime.changes.as_slice() else { return None };
        let key = format!("waters.{}.salinity", base.waters[change.water].name);
        let free = self.ranges.iter().all(|r| !r.key.starts_with("waters."));
        if !free || !self.request.uncertainty.is_none() || !self.request.also.is_empty() {
            return None;
        }
        let limit = best.and_then(|b| least.of(&self.candidates[b])).map_or(f64::INFINITY, |now| now * (1.0 - WORTH));
        let mut order: Vec<(usize, f64)> = (0..self.candidates.len())
            .filter(|i| self.others_kept(*i))
            .filter_map(|i| Some((i, least.of(&self.candidates[i])?)))
            .filter(|(_, taken)| *taken < limit)
            .collect();
        // Of those that take the same, the one that comes less near to its limits.
        let used = |i: usize| self.candidates[i].band_use;
        order.sort_by(|(a, x), (b, y)| x.total_cmp(y).then(used(*a).total_cmp(&used(*b))));
        order.into_iter().find_map(|(i, _)| {
            let mut plan = self.plans[i].clone();
            let psu = (10.0 * mix_to(&plan, change.water, Variable::Salinity, middle).ok()?.value).round() / 10.0;
            plan.waters[change.water].salinity = PracticalSalinity::from_psu(psu);
            let values = self.candidates[i].values.clone();
            let kept = candidate(base, values, &judge(&plan).ok()?);
            kept.keeps.then(|| self.way(&kept, &key, psu, least))
        })
    }

    /// Whether a candidate keeps all bands but that of the salinity.
    fn others_kept(&self, i: usize) -> bool {
        let bands = self.loaded.scenario.plan.bands.iter().filter(|b| b.of != Variable::Salinity);
        self.judged[i].as_ref().is_ok_and(|j| bands.fold(0.0, |most: f64, b| most.max(band_use(&j.settled, b))) <= 1.0)
    }

    fn way(&self, kept: &Candidate, key: &str, psu: f64, least: Least) -> Way {
        let scenario = &self.loaded.scenario;
        let view: View = scenario.view();
        let shown = view.of("salinity", "psu");
        let number = significant(shown.value(psu), if shown.unit == "psu" { 3 } else { 5 });
        let taken = view.say("", least.of(kept).unwrap_or(f64::NAN), &least.unit(&scenario.plan), 3);
        let mut set = vec![format!("{key}={} psu", trimmed(psu, 1))];
        set.extend(self.ranges.iter().zip(&kept.values).map(|(r, value)| format!("{}={value}", r.key)));
        let what = format!(
            "mix new water to {number} {}: then {} keeps every band, {taken}",
            shown.unit,
            regime(kept, self.ranges)
        );
        Way { what, set }
    }
}
