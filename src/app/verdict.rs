//! Whether a run keeps its bands, in a sentence a band, and what to do where it does not.

use super::dated::Dated;
use super::remedies::{is_dosed, words};
use crate::model::{Band, Plan, Variable};
use crate::results::{Action, BandReport, Settled, SettledSolute, Span, Way, as_sentence, spoken, spoken_first};
use crate::solutes::{Role, View};
use crate::units::trimmed;

/// A band that the regime does not keep, with what keeps it.
pub(super) struct Broken {
    pub(super) band: Band,
    /// Whether what it is of is too much; too little otherwise.
    pub(super) upwards: bool,
    /// Whether the settled cycle keeps it, and the run leaves it once.
    pub(super) in_passing: bool,
    /// The levers, each worked out by itself: sentences without their stop.
    pub(super) ways: Vec<Way>,
}

/// How words and numbers are told.
#[derive(Clone, Copy)]
pub(super) struct Telling<'a> {
    pub(super) view: &'a View,
    pub(super) dated: Dated,
}

impl Telling<'_> {
    fn number(&self, of: &str, unit: &str, value: f64) -> String {
        self.view.of(of, unit).number(value, 3)
    }

    fn say(&self, of: &str, unit: &str, value: f64) -> String {
        let shown = self.view.of(of, unit);
        format!("{} {}", self.number(of, unit, value), shown.unit)
    }
}

/// Where a quantity settles: `near 33.7`, or between what.
fn near(span: &SettledSolute, edge: f64, telling: Telling<'_>) -> String {
    let number = |value: f64| telling.number(&span.key, &span.unit, value);
    let swing = span.peak - span.trough;
    // A mean that reads like the limit says nothing.
    if swing <= 0.02 * span.mean.abs() && number(span.mean) != number(edge) {
        format!("near {}", telling.say(&span.key, &span.unit, span.mean))
    } else {
        let shown = telling.view.of(&span.key, &span.unit);
        let [low, high] =
            [span.trough, span.peak].map(|v| shown.number(v, if number(v) == number(edge) { 4 } else { 3 }));
        // On a coarse scale limit and cycle may read alike.
        match (low == high, low == number(edge)) {
            (true, true) => "just outside its limit".to_owned(),
            (true, false) => format!("at {low} {}", shown.unit),
            (false, _) => format!("between {low} and {high} {}", shown.unit),
        }
    }
}

/// The answer: yes or no, then a sentence a band that is not kept.
pub(super) fn answer(bands: &[BandReport], spans: &[Span], settled: Option<&Settled>, telling: Telling<'_>) -> String {
    let say = |key: &str, unit: &str, value: f64| telling.say(key, unit, value);
    if bands.is_empty() {
        let salinity = spans.iter().find(|s| s.key == "salinity");
        return salinity.map_or(String::new(), |s| {
            format!(
                "No band is set. Salinity runs from {} to {}.",
                telling.number(&s.key, &s.unit, s.lowest),
                say(&s.key, &s.unit, s.highest)
            )
        });
    }
    let broken: Vec<String> = bands.iter().filter(|b| !b.kept).map(|b| left(b, settled, telling)).collect();
    let later: Vec<String> = bands
        .iter()
        .filter(|b| b.kept)
        .filter_map(|b| Some((b, settled.and_then(|s| s.of(&b.key))?)))
        .filter(|(b, span)| !b.holds(span))
        .map(|(b, span)| {
            format!(
                "Later, {} settles {}, outside its band.",
                spoken(&b.key),
                near(span, b.high.or(b.low).unwrap_or(0.0), telling)
            )
        })
        .collect();
    if !broken.is_empty() {
        return format!("No. {}", [broken, later].concat().join(" "));
    }
    if !later.is_empty() {
        return format!("Yes, every band is kept in this run. {}", later.join(" "));
    }
    let tightest = bands
        .iter()
        .filter_map(|b| Some((b, spans.iter().find(|s| s.key == b.key)?)))
        .map(|(b, s)| (used(b, s), b, s))
        .max_by(|a, b| a.0.total_cmp(&b.0));
    let tightest = tightest.map_or(String::new(), |(_, b, s)| {
        let high = b.high.is_some_and(|high| b.low.is_none_or(|low| high - s.highest <= s.lowest - low));
        let (word, reached, edge) = if high { ("highest", s.highest, b.high) } else { ("lowest", s.lowest, b.low) };
        let edge = edge.unwrap_or(0.0);
        let limit = telling.number(&b.key, &b.unit, edge);
        if telling.number(&b.key, &b.unit, reached) == limit && reached != edge {
            let side = if high { "below" } else { "above" };
            let limit = say(&b.key, &b.unit, edge);
            return format!(" {} is all but at its limit: {word} just {side} {limit}.", spoken_first(&b.key));
        }
        format!(
            " {} is nearest to its limit: {word} {}, limit {limit}.",
            spoken_first(&b.key),
            say(&b.key, &b.unit, reached),
        )
    });
    format!("Yes, every band is kept.{tightest}")
}

/// Share of a band that a run uses.
fn used(band: &BandReport, span: &Span) -> f64 {
    match (band.low, band.high) {
        (Some(low), Some(high)) => {
            let (mid, half) = (0.5 * (low + high), 0.5 * (high - low));
            (span.highest - mid).max(mid - span.lowest) / half.max(1e-12)
        }
        (None, Some(high)) => span.highest / high.max(1e-12),
        (Some(low), None) => low / span.lowest.max(1e-12),
        (None, None) => 0.0,
    }
}

/// Times as far out as where a quantity settles, from which on a run's worst is told besides.
const FAR: f64 = 2.0;

/// When a band is left, how far, and where it comes to.
fn left(band: &BandReport, settled: Option<&Settled>, telling: Telling<'_>) -> String {
    let at = band.left_at_d.unwrap_or(0.0);
    let above = band.worst > 0.0;
    let edge = if above { band.high } else { band.low }.unwrap_or(0.0);
    let say = |value: f64| telling.say(&band.key, &band.unit, value);
    let what = spoken_first(&band.key);
    // The side on which it is first left need not be that on which it is worst.
    let first_above = band.left_above.unwrap_or(above);
    let first = if first_above { band.high } else { band.low }.unwrap_or(edge);
    let leaves = match (at <= 0.0, first_above) {
        (true, true) => format!("{what} is above {} from the start", say(first)),
        (true, false) => format!("{what} is below {} from the start", say(first)),
        (false, true) => format!("{what} rises above {} {}", say(first), telling.dated.on(at)),
        (false, false) => format!("{what} falls below {} {}", say(first), telling.dated.on(at)),
    };
    let worst = telling.number(&band.key, &band.unit, edge + band.worst);
    let worst = format!(
        "{} {worst} {}",
        if above { "highest" } else { "lowest" },
        telling.dated.on(band.worst_d.unwrap_or(at))
    );
    match settled.and_then(|s| s.of(&band.key)) {
        Some(span) if !band.holds(span) => {
            // Where the run goes far beyond where it settles, that is told too.
            let settles = if above { span.peak - edge } else { edge - span.trough };
            let far = band.worst.abs() > FAR * settles.abs().max(1e-12) || first_above != above;
            let worst = if far { format!(" ({worst})") } else { String::new() };
            format!("{leaves}{worst} and settles {}.", near(span, edge, telling))
        }
        _ => format!("{leaves}: {worst}, {} d outside in all.", trimmed(band.outside_d, 1)),
    }
}

/// What to do about the bands that are not kept.
pub(super) fn todo(plan: &Plan, broken: &[Broken]) -> Vec<Action> {
    broken
        .iter()
        .map(|b| Action::first_of(&b.ways).unwrap_or_else(|| Action::new(as_sentence(&advice(plan, b)))))
        .collect()
}

/// The levers with their numbers, or which ones to look at where none does it alone.
pub(super) fn advice(plan: &Plan, broken: &Broken) -> String {
    if !broken.ways.is_empty() {
        return words(&broken.ways);
    }
    let name = spoken(plan.named(broken.band.of).0);
    match broken.band.of {
        Variable::Salinity if plan.regime.changes.is_empty() && plan.regime.exchange.is_none() => {
            "check the top-off and what leaves the tank: no water is changed that could correct the salinity".into()
        }
        Variable::Salinity => "change more water, and see brinecast mix-to for the salinity to mix to".into(),
        Variable::Solute(i) if broken.upwards && is_dosed(plan, i) => {
            format!("dose less {name}: water changes are a costly way to remove a supplement")
        }
        Variable::Solute(i) if broken.upwards && plan.species[i].solute.role == Role::Contaminant => {
            format!("find the source of the {name} first, then change water (brinecast rescue) and run fresh carbon")
        }
        Variable::Solute(i) if !broken.upwards && plan.species[i].solute.role == Role::Medicine => {
            format!("dose {name} again after each change, by a test and the maker's instructions")
        }
        Variable::Solute(_) if broken.upwards => {
            format!("for {name}, change more water a month, feed less and add removal: none of these is enough alone")
        }
        Variable::Solute(_) => format!("dose {name} between changes: changes alone cannot supply it"),
    }
}
