//! An interval between two acts, looked at in whole days: nobody changes water every 4.562 d, and only intervals with a common
//! cycle settle.

use crate::study::{KeyRange, Root};

/// Most whole days that are looked at.
const MOST_DAYS: usize = 366;

/// Whether a key is an interval of a timetable.
fn is_interval(key: &str) -> bool {
    key.rsplit('.').next().is_some_and(|last| matches!(last, "every" | "refill"))
}

/// The days to look around where the scenario gives no interval.
pub(super) fn usual(key: &str) -> Option<String> {
    is_interval(key).then(|| format!("{key}=1 d..28 d"))
}

/// The whole days between two ends, as a list that is read like any other; nothing where the key is no interval, the ends are
/// not in days, or there are too many of them or too few.
pub(super) fn days(range: &KeyRange) -> Option<String> {
    let (from, to) = (range.numbers.first()?.ceil().max(1.0), range.numbers.last()?.floor());
    if !is_interval(&range.key) || range.unit != "d" || to - from < 1.0 || to - from >= MOST_DAYS as f64 {
        return None;
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "whole days, bounded above")]
    let list: Vec<String> = (from as u32..=to as u32).map(|d| format!("{d} d")).collect();
    Some(format!("{}={}", range.key, list.join(",")))
}

/// The pairs of neighbouring days between which the target lies, each as the nearer of the two; a day that meets it is a root of
/// its own.
pub(super) fn neighbours(points: &[(f64, Option<f64>)], target: f64) -> Vec<Root> {
    let known: Vec<(f64, f64)> = points.iter().filter_map(|(x, y)| y.map(|y| (*x, y))).collect();
    let past = known.windows(2).filter(|w| (w[0].1 - target) * (w[1].1 - target) < 0.0);
    past.map(|w| {
        let nearer = if (w[0].1 - target).abs() <= (w[1].1 - target).abs() { w[0] } else { w[1] };
        Root { at: nearer.0, between: (w[0].0, w[1].0), measured: nearer.1 }
    })
    .collect()
}

/// The days that meet the target.
pub(super) fn met(points: &[(f64, Option<f64>)], target: f64) -> Vec<Root> {
    let meets = |y: f64| (y - target).abs() <= 1e-9 * target.abs();
    let known = points.iter().filter_map(|(x, y)| y.filter(|y| meets(*y)).map(|y| (*x, y)));
    known.map(|(x, y)| Root { at: x, between: (x, x), measured: y }).collect()
}
