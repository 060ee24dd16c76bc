//! A band that the settled cycle keeps and the run leaves once: what would have been done before.

use super::dated::Dated;
use super::remedies::ways;
use super::verdict::Broken;
use crate::engine::{Outcome, Statistic};
use crate::model::{Amount, Band, Change, Plan, Schedule, Variable};
use crate::results::Way;
use crate::solutes::View;
use crate::study::Lens;
use crate::units::trimmed;

/// Largest extra change that is advised \[% of the tank\].
const MOST_PERCENT: u32 = 50;

/// Longest interval between two top-offs by hand that is tried \[d\].
const MOST_DAYS: u32 = 14;

/// The bands that are left in passing, with what keeps them; `settled` are those that the regime does not keep anyway.
///
/// Faults have advice of their own, and a tank that starts outside comes back or does not: neither is looked at.
pub(super) fn passing(plan: &Plan, outcome: &Outcome, settled: &[Broken], view: &View, dated: Dated) -> Vec<Broken> {
    if !plan.disturbances.is_empty() || outcome.from_d > 0.0 {
        return Vec::new();
    }
    let told = |band: &Band, upwards: bool| settled.iter().any(|b| b.band == *band && b.upwards == upwards);
    let left = |s: &Statistic| Some((s.band?, s.left_at_d.filter(|day| *day > 0.0)?, s.worst.0 > 0.0));
    let bands = outcome.statistics.variables.iter().filter_map(left);
    bands
        .filter(|(band, _, upwards)| !told(band, *upwards))
        .map(|(band, day, upwards)| {
            let by_visit = first_visit(plan, &band, day, upwards, dated);
            let mut found: Vec<Way> = by_visit.into_iter().collect();
            if found.is_empty() {
                found.extend(extra_change(plan, &band, day, dated));
                found.extend(ways(plan, Lens::Run, &band, upwards, view));
            }
            Broken { band, upwards, in_passing: true, ways: found }
        })
        .filter(|broken| !broken.ways.is_empty())
        .collect()
}

/// Whether a run of a plan stays on one side of a band from its start to its end.
fn keeps(plan: &Plan, band: &Band, upwards: bool) -> bool {
    let edge = if upwards { Band { low: None, ..*band } } else { Band { high: None, ..*band } };
    Lens::Run.band_use(plan, &edge).is_ok_and(|used| used <= 1.0)
}

/// Topping off by hand sooner, or oftener too, where too much evaporates before the first visits.
fn first_visit(plan: &Plan, band: &Band, day: f64, upwards: bool, dated: Dated) -> Option<Way> {
    let visits = plan.regime.top_off.by_hand()?;
    let (first, every) = (visits.time(0)?, visits.time(1)? - visits.time(0)?);
    if !upwards || band.of != Variable::Salinity || day > first + every {
        return None;
    }
    // From the first day on, at the hour at which it is done.
    let begin = first.fract();
    let days = (1..=MOST_DAYS).rev().map(f64::from).filter(|days| *days <= every).find(|days| {
        let mut other = plan.clone();
        other.output_every = None;
        other.regime.top_off.by_hand_at(Schedule::every(*days, begin));
        keeps(&other, band, upwards)
    })?;
    let every_day = |d: f64| if d == 1.0 { "every day".to_owned() } else { format!("every {} days", trimmed(d, 1)) };
    let instead = if days == every { String::new() } else { format!(" instead of {}", every_day(every)) };
    Some(Way::by_hand(format!("top off {}{instead}, the first time {}", every_day(days), dated.at(begin))))
}

/// One larger or one more change before the band is left: before the period in which that happens, or the day before.
fn extra_change(plan: &Plan, band: &Band, day: f64, dated: Dated) -> Option<Way> {
    let change = plan.regime.changes.first()?;
    let during = plan.periods.iter().filter(|p| !p.of_series).find(|p| p.is_on(day));
    let begin = during.and_then(|p| p.rounds(day).last().copied()).map(|(begin, _)| begin);
    // At noon of the day before.
    let noon = begin.unwrap_or(day).floor() - 0.5;
    if noon < 0.0 {
        return None;
    }
    let with = |percent: u32| {
        let mut plan = plan.clone();
        plan.output_every = None;
        let share = Amount::Share(0.01 * f64::from(percent));
        plan.regime.changes.push(Change::at(Schedule::Listed(vec![noon]), share, change.water));
        Lens::Run.band_use(&plan, band).is_ok_and(|used| used <= 1.0)
    };
    let percent = (1..=MOST_PERCENT).find(|percent| with(*percent))?;
    let before = during.map_or(String::new(), |p| format!(", before the period {}", p.name.replace('_', " ")));
    Some(Way::by_hand(format!("make one extra change of {percent} % {}{before}", dated.on(noon))))
}
