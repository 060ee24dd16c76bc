//! The answer of `sweep` in words.

use super::answer::SweepResult;
use crate::app::edges::key_words;
use crate::app::report::on_scenario;
use crate::app::{Answer, AppError, Loaded};
use crate::chart::Picture;
use crate::export;
use crate::model::Plan;
use crate::results::{Report, ReportPart, ReportSection, Sweep};
use crate::solutes::View;
use crate::study::{Lens, Measure};
use crate::units::significant;

impl Answer for SweepResult {
    type Of = Loaded;
    type Data = Sweep;

    const COMMAND: &'static str = "sweep";

    fn data(&self) -> &Sweep {
        &self.sweep
    }

    fn told(&self, of: &Loaded) -> Report {
        told(&self.sweep, of)
    }

    fn tables(&self, _of: &Loaded) -> Result<Vec<(String, Vec<u8>)>, AppError> {
        Ok(vec![("sweep.csv".into(), export::sweep_csv(&self.sweep)?)])
    }

    fn pictures(&self) -> &[(String, Picture)] {
        &self.pictures
    }
}

/// Rows of the short table, and of the long one.
const FEW: usize = 12;
/// See above.
const MANY: usize = 60;

/// A value of a measure as it is shown, without its unit.
fn say(sweep: &Sweep, view: &View, measure: usize, value: f64, digits: i32) -> String {
    view.of(&sweep.measures[measure], &sweep.measure_units[measure]).number(value, digits)
}

fn told(sweep: &Sweep, loaded: &Loaded) -> Report {
    let view = loaded.scenario.view();
    let shown = &sweep.shown(&view);
    let keys = shown.keys.iter().zip(&shown.key_units);
    let head: Vec<String> = keys
        .chain(shown.measures.iter().zip(&shown.measure_units))
        .map(|(name, unit)| if unit.is_empty() { name.clone() } else { format!("{name} [{unit}]") })
        .collect();
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let table = |caption: &str, stride: usize, most: usize| {
        let rows = sweep.points.iter().zip(&sweep.values).step_by(stride).take(most).map(|(point, values)| {
            let measured = values.iter().enumerate().map(|(m, v)| v.map_or("-".into(), |v| say(sweep, &view, m, v, 4)));
            point.iter().map(|key| significant(*key, 4)).chain(measured).collect()
        });
        ReportPart::table(caption, &head, rows.collect())
    };
    let count = shown.points.len();
    let stride = count.div_ceil(FEW).max(1);
    let some = if stride > 1 { format!("Every {stride}th of {count} plans") } else { format!("All {count} plans") };
    let plan = &loaded.scenario.plan;
    let grid = grid(sweep, shown, plan, &view);
    let gridded = grid.is_some();
    let mut numbers = grid.unwrap_or_else(|| vec![table(&some, stride, FEW)]);
    if stride > 1 && !gridded {
        numbers.push(ReportPart::Text(format!("{some}; all of them are in sweep.csv.")));
    }
    let all = if count > MANY { format!("The first {MANY} of {count} plans") } else { format!("All {count} plans") };
    Report {
        answer: answer(sweep, &loaded.scenario.plan, shown, &view),
        numbers,
        sections: vec![ReportSection::new("The plans", vec![table(&all, 1, MANY)])],
        warnings: sweep.warnings.clone(),
        ..on_scenario(loaded, &format!("{} over a range", sweep.keys.join(" and ")), None)
    }
}

/// Columns of a grid at most.
const WIDEST_GRID: usize = 8;

/// Two keys and one measure as a grid: the first key down, the second across; what is out of its band in brackets.
fn grid(sweep: &Sweep, shown: &Sweep, plan: &Plan, view: &View) -> Option<Vec<ReportPart>> {
    let ([first, second], [measure]) = (sweep.keys.as_slice(), sweep.measures.as_slice()) else { return None };
    let values_of = |k: usize| {
        let mut values: Vec<f64> = sweep.points.iter().map(|p| p[k]).collect();
        values.sort_by(f64::total_cmp);
        values.dedup();
        values
    };
    let (down, across) = (values_of(0), values_of(1));
    if across.len() > WIDEST_GRID || down.len() > 2 * WIDEST_GRID || across.len() < 2 {
        return None;
    }
    let (low, high) = Measure::parse(measure).map_or((None, None), |m| m.band(plan));
    let cell = |x: f64, y: f64| {
        let at = sweep.points.iter().position(|p| p[0] == x && p[1] == y)?;
        let value = sweep.values[at][0]?;
        let out = low.is_some_and(|l| value < l) || high.is_some_and(|h| value > h);
        // So close to an edge that it would read like the edge: a digit more.
        let close = [low, high].into_iter().flatten().any(|e| value != e && (value / e - 1.0).abs() < 5e-3);
        let said = say(sweep, view, 0, value, if close { 5 } else { 3 });
        Some(if out { format!("({said})") } else { said })
    };
    let key = |k: usize, v: f64| format!("{} {}", significant(v, 3), sweep.key_units[k]).trim_end().to_owned();
    let mut head = vec![format!("{first}, by {second}")];
    head.extend(across.iter().map(|y| key(1, *y)));
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let rows = down.iter().map(|x| {
        std::iter::once(key(0, *x)).chain(across.iter().map(|y| cell(*x, *y).unwrap_or("-".into()))).collect()
    });
    let caption = format!("{measure} [{}]", shown.measure_units[0]);
    let mut parts = vec![ReportPart::captioned(&caption, &head, rows.collect())];
    if low.is_some() || high.is_some() {
        parts.push(ReportPart::text("In brackets: outside the band."));
    }
    Some(parts)
}

/// For each measure whose quantity has a band, how many plans keep it; from where to where the others run.
fn answer(sweep: &Sweep, plan: &Plan, shown: &Sweep, view: &View) -> String {
    let count = sweep.points.len();
    let mut sentences: Vec<String> = kept_words(sweep).into_iter().map(|words| words + ".").collect();
    for (m, name) in sweep.measures.iter().enumerate() {
        let measured = Measure::parse(name).map_or((None, None), |measure| measure.band(plan));
        let excess = |v: f64| measured.0.is_some_and(|low| v < low) || measured.1.is_some_and(|high| v > high);
        let values = || sweep.values.iter().filter_map(|row| row.get(m).copied().flatten());
        if measured != (None, None) {
            let of = |is: &dyn Fn(f64) -> bool| -> Vec<usize> {
                (0..count).filter(|i| sweep.values[*i][m].is_some_and(is)).collect()
            };
            let (kept, out) = (of(&|v| !excess(v)), of(&excess));
            // What keeps every band is told already.
            let told = sweep.bands_kept.iter().enumerate().all(|(i, all)| *all == Some(kept.contains(&i)));
            if told {
                continue;
            }
            sentences.push(match kept.len() {
                0 => format!("None of {count} plans keeps {name} in its band."),
                n if n == count => format!("All {count} plans keep {name} in its band."),
                n => format!("{n} of {count} plans keep {name} in its band{}.", where_kept(sweep, &kept, &out)),
            });
            continue;
        }
        if values().next().is_some() {
            let unit = &shown.measure_units[m];
            let mut ends = values().collect::<Vec<f64>>();
            ends.sort_by(f64::total_cmp);
            let [low, high] =
                [ends.first(), ends.last()].map(|v| say(sweep, view, m, v.copied().unwrap_or(f64::NAN), 4));
            sentences.push(format!("{name} runs from {low} to {high} {unit} over {count} plans."));
        } else {
            sentences.push(format!("{name} could not be measured in any of {count} plans."));
        }
    }
    sentences.join(" ")
}

/// How many plans keep every band, and which; nothing where no band is set.
pub(super) fn kept_words(sweep: &Sweep) -> Option<String> {
    if sweep.bands_kept.iter().all(Option::is_none) {
        return None;
    }
    let of = |kept: Option<bool>| -> Vec<usize> {
        (0..sweep.points.len()).filter(|i| sweep.bands_kept[*i] == kept).collect()
    };
    let (kept, out, unknown) = (of(Some(true)), of(Some(false)), of(None).len());
    let settled = sweep.measures.iter().any(|m| Measure::parse(m).is_ok_and(|m| m.is_settled()));
    let when = if settled { Lens::Settled } else { Lens::Run }.when();
    let told = match (kept.len(), kept.len() + out.len()) {
        (0, count) => format!("None of {count} plans keeps every band{when}"),
        (n, count) if n == count => format!("Every one of {count} plans keeps every band{when}"),
        (1, count) => format!("1 of {count} plans keeps every band{when}{}", where_kept(sweep, &kept, &out)),
        (n, count) => format!("{n} of {count} plans keep every band{when}{}", where_kept(sweep, &kept, &out)),
    };
    Some(if unknown > 0 { format!("{told}; {unknown} more could not be judged: see the warning") } else { told })
}

/// Where one key alone decides which plans keep a band: from which value on, or up to which.
fn where_kept(sweep: &Sweep, kept: &[usize], out: &[usize]) -> String {
    for (k, key) in sweep.keys.iter().enumerate() {
        let value = |i: usize| sweep.points[i][k];
        let inside: Vec<f64> = kept.iter().map(|i| value(*i)).collect();
        let outside = out.iter().map(|i| value(*i));
        let (low, high) = inside.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
        let (out_low, out_high) = outside.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        let unit = &sweep.key_units[k];
        let say = |v: f64| format!("{} {unit}", significant(v, 3)).trim_end().to_owned();
        if low > out_high {
            return format!(": those with {} of {} or more", key_words(key), say(low));
        }
        if high < out_low {
            return format!(": those with {} of {} or less", key_words(key), say(high));
        }
    }
    where_most(sweep, kept, out)
}

/// With the value of the first key that most kept plans have: from which value of the second key on, or up to which.
fn where_most(sweep: &Sweep, kept: &[usize], out: &[usize]) -> String {
    let [first, second] = &sweep.keys[..] else { return String::new() };
    let count = |v: f64| kept.iter().filter(|i| sweep.points[**i][0] == v).count();
    let Some(most) = kept.iter().map(|i| sweep.points[*i][0]).max_by_key(|v| count(*v)) else { return String::new() };
    let in_row =
        |of: &[usize]| of.iter().filter(|i| sweep.points[**i][0] == most).map(|i| sweep.points[*i][1]).collect();
    let (inside, outside): (Vec<f64>, Vec<f64>) = (in_row(kept), in_row(out));
    let (low, high) = inside.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
    let say = |k: usize, v: f64| format!("{} {}", significant(v, 3), sweep.key_units[k]).trim_end().to_owned();
    let which = match (outside.iter().any(|v| *v < low), outside.iter().any(|v| *v > high)) {
        (false, false) => "any value".to_owned(),
        (true, false) => format!("{} or more", say(1, low)),
        (false, true) => format!("{} or less", say(1, high)),
        (true, true) => format!("{} to {}", say(1, low), say(1, high)),
    };
    match (&**first, &**second) {
        ("change.every", "change.amount") => {
            format!("; of changes every {}: those of {which}, of the steps tried", say(0, most))
        }
        ("change.amount", "change.every") => {
            format!("; of changes of {}: those every {which}, of the steps tried", say(0, most))
        }
        _ => format!("; with {} of {}, {} of {which}", key_words(first), say(0, most), key_words(second)),
    }
}
