//! The pictures of one run: each says in its headline what it shows.

use super::words::band_words;
use crate::app::Loaded;
use crate::app::dated::Dated;
use crate::chart::{Bar, Bars, Head, Line, Picture, Series};
use crate::engine::Outcome;
use crate::model::{Component, Plan};
use crate::results::{BandReport, Cause, SettledSolute, Summary, spoken, spoken_first};
use crate::solutes::View;
use crate::units::{Shown, Volume, trimmed};

/// Salinity, each solute, the level, and the flows of water and salt by cause; each with a file name. Faults and periods
/// are shaded.
pub(super) fn pictures(loaded: &Loaded, outcome: &Outcome, summary: &Summary) -> Vec<(String, Picture)> {
    let plan = &loaded.scenario.plan;
    let view = loaded.scenario.view();
    let course = Course { loaded, outcome, summary, dated: Dated::of(&loaded.scenario) };
    let mut pictures = Vec::new();
    let shown = view.of("salinity", "psu");
    pictures.push(("salinity".to_owned(), course.of("salinity", &outcome.trace.salinity_psu, &shown)));
    for (species, column) in plan.species.iter().zip(&outcome.trace.solutes) {
        let solute = &species.solute;
        let shown = view.of(&solute.key, solute.unit());
        pictures.push((solute.key.to_string(), course.of(&solute.key, column, &shown)));
    }
    pictures.push(("level".to_owned(), course.level(&view.of("volume", "L"))));
    pictures.extend(by_cause(plan, outcome, &view));
    // What goes wrong leads.
    let broken = summary.bands.iter().find(|b| !b.kept);
    if let Some(at) = broken.and_then(|b| pictures.iter().position(|(name, _)| *name == b.key)) {
        pictures[..=at].rotate_right(1);
    }
    pictures
}

/// A run whose quantities are drawn over time.
struct Course<'a> {
    loaded: &'a Loaded,
    outcome: &'a Outcome,
    summary: &'a Summary,
    dated: Dated,
}

impl Course<'_> {
    /// What all pictures over time have in common.
    fn base(&self, y: &str, unit: &str) -> Series {
        let meanwhile = &self.summary.meanwhile;
        let ticks: Vec<f64> = self.outcome.events.iter().filter(|e| e.event == "change").map(|e| e.time_d).collect();
        let mut note = format!("{} basis", self.loaded.scenario.plan.basis.key());
        match ticks.len() {
            0 => {}
            1 => note += "; tick at the foot: a water change",
            n => note += &format!("; ticks at the foot: {n} water changes"),
        }
        if !meanwhile.is_empty() {
            note += "; shaded in orange: a fault or a period";
        }
        let mut marks = marks(self.outcome);
        marks.extend(meanwhile.iter().map(|m| (m.from_d, m.what.clone())));
        Series {
            head: Head { note, ..Head::default() },
            x_label: format!("days from {}", self.loaded.scenario.start),
            since: self.dated.start(),
            y_label: format!("{y}, {unit}"),
            unit: unit.to_owned(),
            ticks,
            marks,
            spans: meanwhile.iter().map(|m| (m.from_d, m.to_d.unwrap_or(f64::INFINITY))).collect(),
            ..Series::default()
        }
    }

    fn points(&self, column: &[f64], shown: &Shown) -> Vec<(f64, f64)> {
        let points: Vec<(f64, f64)> = self.outcome.trace.time_d.iter().copied().zip(column.iter().copied()).collect();
        shown.points(&points)
    }

    /// A quantity over time, with its band, where it leaves it and where it settles.
    fn of(&self, key: &str, column: &[f64], shown: &Shown) -> Picture {
        let name = spoken(key);
        let mut series = self.base(&name, &shown.unit);
        let points = self.points(column, shown);
        let band = self.summary.bands.iter().find(|b| b.key == key);
        let settled = self.summary.settled.as_ref().and_then(|s| s.of(key));
        let arrives = settled.is_some_and(|s| self.arrives(column, s));
        series.head.finding = self.finding(key, band, settled.map(|s| (s, arrives)), shown);
        if let Some(band) = band {
            series.head.question = format!("Does the {name} stay {}?", within(band, shown));
            series.band = shown.edges((band.low, band.high));
            series.band_name = format!("allowed: {} {}", band_words(band, shown), shown.unit);
            if let Some(at) = band.left_at_d.filter(|at| *at > 0.0) {
                let edge = if band.worst > 0.0 { band.high } else { band.low };
                let level = edge.map_or(f64::NAN, |edge| shown.value(edge));
                let day = self.dated.day(at);
                let days = format!("day {}", trimmed(at.floor(), 0));
                let when = if day == days { day } else { format!("{day} ({days})") };
                series.callouts.push(((at, level), vec!["leaves the band".into(), when]));
            }
        } else {
            series.head.question = format!("How does the {name} move?");
        }
        if let Some(settled) = settled.filter(|s| s.trough.is_finite() && s.peak.is_finite()) {
            let [low, high] = [settled.trough, settled.peak].map(|v| shown.value(v));
            let number = |v: f64| figure(shown, v);
            let (trough, peak) = (number(settled.trough), number(settled.peak));
            // Only where the run comes there is it the end of the line.
            let verb = if arrives { "settles at" } else { "heads for" };
            let mut lines = vec![format!("{verb} {}", number(settled.mean))];
            if trough != peak {
                let year = self.summary.settled.as_ref().is_some_and(|s| s.cycle_d > 300.0);
                lines.push(format!("({trough} to {peak}{})", if year { " in a year" } else { "" }));
            }
            series.settled = Some(((low, high), lines));
        }
        // Without a lower limit the axis begins at nothing.
        series.from_zero = band.is_none_or(|b| b.low.is_none());
        let (line, swing) = Line::new(name, points).round_in(self.outcome.round_d()).by_day();
        if let Some(fan) = swing {
            series.fans = vec![fan];
            series.head.note += "; line: mean of the day; shaded in blue: the daily swing";
        }
        series.lines = vec![line];
        Picture::Series(series)
    }

    /// Whether the run ends about where its regime settles.
    fn arrives(&self, column: &[f64], settled: &SettledSolute) -> bool {
        // The last cycle of the run lies where the settled one does.
        let cycle = self.summary.settled.as_ref().map_or(0.0, |s| s.cycle_d);
        let from = self.outcome.trace.time_d.last().map_or(0.0, |end| end - cycle);
        let last = self.outcome.trace.time_d.iter().zip(column).filter(|(t, _)| **t >= from).map(|(_, v)| *v);
        let (low, high) = last.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
        let air = 0.15 * (settled.peak - settled.trough).max(0.02 * settled.peak.abs());
        (low - settled.trough).abs() <= air && (high - settled.peak).abs() <= air
    }

    /// What is to be seen, in a sentence without its stop.
    fn finding(
        &self,
        key: &str,
        band: Option<&BandReport>,
        settled: Option<(&SettledSolute, bool)>,
        shown: &Shown,
    ) -> String {
        let what = spoken_first(key);
        let number = |v: f64| figure(shown, v);
        let settles = settled.map_or(String::new(), |(s, arrives)| {
            let (low, high) = (number(s.trough), number(s.peak));
            let verb = if arrives { "settles" } else { "would settle" };
            if low == high { format!(" and {verb} at {low}") } else { format!(" and {verb} between {low} and {high}") }
        });
        let span = self.summary.spans.iter().find(|s| s.key == key);
        let (lowest, highest) = span.map_or((f64::NAN, f64::NAN), |s| (s.lowest, s.highest));
        let Some(band) = band else {
            return format!("{what} runs from {} to {} {}", number(lowest), number(highest), shown.unit);
        };
        let edges = format!("{} {}", band_words(band, shown), shown.unit);
        match band.left_at_d {
            Some(at) if at > 0.0 => {
                let leaves = match (band.low, band.high) {
                    (None, Some(high)) => format!("rises above {} {}", number(high), shown.unit),
                    (Some(low), None) => format!("falls below {} {}", number(low), shown.unit),
                    _ => format!("leaves {edges}"),
                };
                format!("{what} {leaves} {}{settles}", self.dated.on(at))
            }
            Some(_) => format!("{what} is outside {edges} from the start{settles}"),
            None => {
                let reached = match (band.low, band.high) {
                    (None, _) => format!("highest {}", number(highest)),
                    (_, None) => format!("lowest {}", number(lowest)),
                    _ if number(lowest) == number(highest) => number(lowest),
                    _ => format!("{} to {}", number(lowest), number(highest)),
                };
                format!("{what} stays {}: {reached}", within(band, shown))
            }
        }
    }

    fn level(&self, shown: &Shown) -> Picture {
        let tank = &self.loaded.scenario.plan.tank;
        let mut series = self.base("system volume", &shown.unit);
        let points = self.points(&self.outcome.trace.volume_l, shown);
        let ends = self.summary.spans.iter().find(|s| s.key == "volume").map(|s| (s.lowest, s.highest));
        series.head.finding = ends.map_or("The water level".into(), |(low, high)| {
            let [low, high] = [low, high].map(|v| shown.number(v, 4));
            if low == high {
                format!("The level stays at {low} {}", shown.unit)
            } else {
                format!("The level runs from {low} to {high} {}", shown.unit)
            }
        });
        series.head.question = "How does the water level move?".into();
        series.band = shown.edges((tank.starve.map(Volume::litres), tank.rim.map(Volume::litres)));
        let between = match (tank.starve, tank.rim) {
            (Some(_), Some(_)) => "between the return pump's need and the rim",
            (Some(_), None) => "above the return pump's need",
            (None, Some(_)) => "below the rim",
            (None, None) => "",
        };
        between.clone_into(&mut series.band_name);
        series.lines = vec![Line::new("volume", points).round_in(self.outcome.round_d())];
        Picture::Series(series)
    }
}

/// A cause as a bar is named: `water changes, in`.
fn cause_words(key: &str) -> String {
    match key {
        "change-in" => "water changes, in".into(),
        "change-out" => "water changes, out".into(),
        "exchange-in" => "exchange, in".into(),
        "exchange-out" => "exchange, out".into(),
        other => other.replace('-', " "),
    }
}

/// The same without its direction.
fn root(words: &str) -> &str {
    words.trim_end_matches(", in").trim_end_matches(", out")
}

/// A value with the digits that it bears in a picture.
fn figure(shown: &Shown, value: f64) -> String {
    shown.number(value, if shown.unit == "psu" || shown.value(value).abs() >= 1e3 { 4 } else { 3 })
}

/// Flows of water and of salt by their causes; of alkalinity too, where it is tracked, as what each cause would move the
/// whole system by.
fn by_cause(plan: &Plan, outcome: &Outcome, view: &View) -> Vec<(String, Picture)> {
    let picture = |column: usize, what: &str, per: f64, shown: Shown| {
        let bars: Vec<Bar> = outcome
            .ledger
            .causes()
            .into_iter()
            .filter(|c| !matches!(c, Cause::Start | Cause::End))
            .map(|c| Bar {
                label: cause_words(c.key()),
                amount: shown.step(per * outcome.ledger.amount(c, column)),
                other: None,
            })
            .filter(|b| b.amount.abs() > 1e-9)
            .collect();
        let largest = |sign: f64| {
            let of = bars.iter().filter(|b| b.amount * sign > 0.0);
            of.max_by(|a, b| a.amount.abs().total_cmp(&b.amount.abs())).map(|b| b.label.clone())
        };
        let finding = match (largest(1.0), largest(-1.0)) {
            (Some(into), Some(out)) if root(&into) == root(&out) => {
                format!("Most {what} comes and goes with {}", root(&into))
            }
            (Some(into), Some(out)) => {
                format!("Most {what} comes in by {} and goes out by {}", root(&into), root(&out))
            }
            (Some(into), None) => format!("{} comes in by {}, and none goes out", spoken_first(what), root(&into)),
            (None, Some(out)) => format!("{} goes out by {}, and none comes in", spoken_first(what), root(&out)),
            (None, None) => format!("No {what} came in or went out"),
        };
        let days = trimmed(outcome.days, 1);
        let picture = Bars {
            head: Head {
                finding,
                question: format!("What brought the {what} in and out?"),
                note: format!("whole run of {days} d, {} basis; inflow to the right", plan.basis.key()),
            },
            unit: shown.unit,
            bars,
        };
        (format!("{what}_by_cause"), Picture::Bars(picture))
    };
    let mut pictures = vec![
        picture(Component::Water.place(), "water", 1.0, view.of("mass", "kg")),
        picture(Component::Salt.place(), "salt", 1.0, view.of("mass", "kg")),
    ];
    if let Some(i) = plan.solute("alkalinity") {
        let per = 1.0 / plan.tank.operating.litres();
        let shown = view.of("alkalinity", plan.species[i].solute.unit());
        pictures.push(picture(Component::Solute(i).place(), "alkalinity", per, shown));
    }
    pictures
}

/// Instants that a reader must not miss.
fn marks(outcome: &Outcome) -> Vec<(f64, String)> {
    let tally = &outcome.tally;
    [
        (tally.reservoir_dry_d, "reservoir dry"),
        (tally.starved_d, "return pump starves"),
        (tally.spilled_d, "spill"),
        (tally.empty_d, "tank all but empty"),
    ]
    .into_iter()
    .filter_map(|(at, name)| at.map(|t| (t, name.to_owned())))
    .collect()
}

/// `within 34 to 36 psu`, `below 20 mg/L`.
fn within(band: &BandReport, shown: &Shown) -> String {
    let both = if band.low.is_some() && band.high.is_some() { "within " } else { "" };
    format!("{both}{} {}", band_words(band, shown), shown.unit)
}
