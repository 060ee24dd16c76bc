//! Past and future of each quantity: readings, what was believed, and where it is likely to go.

use super::Ahead;
use crate::app::Loaded;
use crate::app::log::LogBegin;
use crate::chart::{Head, Line, Picture, Series};
use crate::learn::Known;
use crate::numerics::NINETY;
use crate::results::spoken_first;
use crate::units::{Shown, trimmed};

pub(super) fn pictures(
    loaded: &Loaded,
    known: &Known,
    ahead: &Ahead,
    until_d: f64,
    begins: LogBegin,
) -> Vec<(String, Picture)> {
    let plan = &loaded.scenario.plan;
    let view = loaded.scenario.view();
    plan.quantities()
        .enumerate()
        .map(|(q, of)| {
            let (key, unit) = plan.named(of);
            let name = key.replace('_', " ");
            let shown = view.of(key, unit);
            let past = |z: f64| -> Vec<(f64, f64)> {
                known.course[q].iter().map(|b| (b.time_d, (b.mean + z * b.deviation).max(0.0))).collect()
            };
            let future = |level: usize| -> Vec<(f64, f64)> {
                // A tank that has run empty has no number.
                let days = ahead.time_d.iter().map(|t| until_d + t).zip(ahead.quantiles[q][level].iter().copied());
                days.filter(|(_, v)| v.is_finite()).collect()
            };
            let joined = |z: f64, level: usize| shown.points(&[past(z), future(level)].concat());
            let read: Vec<(f64, f64)> =
                known.readings.iter().filter(|r| r.of == of.into()).map(|r| (r.time_d, r.read)).collect();
            let band = plan.bands.iter().find(|b| b.of == of).map_or((None, None), |b| (b.low, b.high));
            let dots = if read.is_empty() {
                Vec::new()
            } else {
                vec![Line::new("readings", shown.points(&read))]
            };
            let picture = Series {
                head: Head {
                    finding: found(&name, until_d, [&future(0), &future(2), &future(4)], &shown, band),
                    question: format!("Where is {name}, and where will it go?"),
                    note: format!(
                        "{}, {} basis; shaded in blue: 90 %, of the past as it was believed then; after the line: ahead by the plan",
                        loaded.scenario.name,
                        plan.basis.key()
                    ),
                },
                x_label: "days from the first row".into(),
                since: begins.date(),
                y_label: format!("{name}, {}", shown.unit),
                band_name: "allowed".into(),
                unit: shown.unit.clone(),
                band: shown.edges(band),
                fans: vec![(joined(-NINETY, 0), joined(NINETY, 4))],
                lines: vec![Line::new("believed", joined(0.0, 2))],
                dots,
                marks: vec![(until_d, "now".into())],
                ..Series::default()
            };
            (format!("now_{key}"), Picture::Series(picture))
        })
        .collect()
}

/// Where a quantity is after all that was done, and when its median leaves the band.
fn found(
    name: &str,
    now_d: f64,
    future: [&[(f64, f64)]; 3],
    shown: &Shown,
    (low, high): (Option<f64>, Option<f64>),
) -> String {
    let [Some(from), Some(middle), Some(to)] = future.map(<[_]>::first) else { return spoken_first(name) };
    let [from, mean, to] = [from, middle, to].map(|p| shown.number(p.1, 3));
    let out = |v: f64| low.is_some_and(|low| v < low) || high.is_some_and(|high| v > high);
    let ahead = match future[1].iter().find(|(_, v)| out(*v)) {
        Some((t, _)) if *t > now_d => format!("; by the plan it leaves its band in {} d", trimmed(t - now_d, 0)),
        Some(_) => "; it is outside its band".to_owned(),
        None => String::new(),
    };
    format!("{} is {mean} {} now ({from} to {to}){ahead}", spoken_first(name), shown.unit)
}
