//! Where a tank settles, in words.

use crate::results::{Settled, SettledSolute};
use crate::solutes::View;
use crate::units::{Duration, InUnits};

/// That it settles, and how fast.
pub(super) fn settles(settled: &Settled, view: &View) -> String {
    let what = if settled.seasonal { "a yearly cycle" } else { "a steady cycle" };
    let half = settled.half_life_d.map(|d| Duration::from_days(d).show(view.units));
    half.map_or_else(
        || format!("If nothing changes, part of it never settles; the rest comes to {what}"),
        |half| format!("If nothing changes, it settles in {what} (half-life {half})"),
    )
}

/// The dates of the lowest and the highest of a settled year; none of a shorter cycle, which comes round again and again.
pub(super) fn dates(settled: &Settled, span: &SettledSolute, start: &str) -> Option<[String; 2]> {
    let start: jiff::civil::Date = start.parse().ok().filter(|_| settled.seasonal)?;
    #[expect(clippy::cast_possible_truncation, reason = "days of a year")]
    let day = |d: f64| start.checked_add(jiff::Span::new().days(d.floor() as i64)).ok();
    let date = |d: f64| day(d).map(|date| date.strftime("%-d %b").to_string());
    Some([date(span.trough_d)?, date(span.peak_d)?])
}
