//! A candidate of a choice.

use crate::model::Plan;
use crate::results::Candidate;
use crate::study::{Judged, band_use, keeps, span, worst_use};

/// A candidate of which nothing is known.
pub(super) fn nothing(values: Vec<String>) -> Candidate {
    Candidate {
        values,
        litres: f64::NAN,
        salt_kg: f64::NAN,
        minutes: f64::NAN,
        cost: None,
        swing_psu: f64::NAN,
        band_use: f64::NAN,
        tightest: String::new(),
        keeps: false,
        on_front: false,
        chance: None,
        failed: None,
    }
}

/// A candidate as it was judged.
pub(super) fn candidate(base: &Plan, values: Vec<String>, judged: &Judged) -> Candidate {
    let settled = &judged.settled;
    let tightest = base.bands.iter().max_by(|a, b| band_use(settled, a).total_cmp(&band_use(settled, b)));
    Candidate {
        litres: judged.yearly.litres,
        salt_kg: judged.yearly.salt_kg,
        minutes: judged.yearly.minutes,
        cost: judged.yearly.cost,
        swing_psu: settled.salinity_psu.peak - settled.salinity_psu.trough,
        band_use: worst_use(settled, &base.bands),
        tightest: tightest.map_or(String::new(), |b| span(settled, b).key.clone()),
        keeps: keeps(settled, &base.bands),
        ..nothing(values)
    }
}
