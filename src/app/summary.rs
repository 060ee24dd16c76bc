//! The answer of a run: bands, drift, totals, what it settles to, warnings with advice, cautions.

use super::Loaded;
use super::chemistry::chemistry;
use super::dated::Dated;
use super::passing::passing;
use super::remedies::{missing_for_a_time, top_off_ways, ways};
use super::verdict::{self, Broken, Telling, advice};
use super::water;
use crate::engine::{Outcome, Statistic, settle};
use crate::model::{Band, Plan, Variable, WaterId};
use crate::results::{Action, Caution, Meanwhile, Settled, Summary, Totals, Warning, Way, capitalised, spoken};
use crate::scenario::Scenario;
use crate::solutes::{Role, View};
use crate::study::{Lens, span};
use crate::units::{InUnits, Mass, Volume, trimmed};

/// Whether what would keep a broken band is looked for: that takes many runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Advice {
    /// It is.
    Wanted,
    /// It is not: a hand is moving a knob.
    Later,
}

/// Sums a run up.
#[must_use]
pub fn summarise(loaded: &Loaded, outcome: &Outcome) -> Summary {
    summarise_with(loaded, outcome, Advice::Wanted)
}

/// The same, with advice or without.
#[must_use]
pub(super) fn summarise_with(loaded: &Loaded, outcome: &Outcome, advice: Advice) -> Summary {
    let scenario = &loaded.scenario;
    let plan = &scenario.plan;
    let (settled, not_settled_because) = match settle(plan) {
        Ok(settled) => (Some(settled), None),
        Err(why) => (None, Some(why.to_string())),
    };
    let bands = outcome.bands(plan);
    let spans = outcome.spans(plan);
    let view = scenario.view();
    let meanwhile = meanwhile(scenario, outcome);
    let bands_kept = bands.iter().all(|b| b.kept);
    let broken = match advice {
        Advice::Wanted => {
            let mut broken = broken(plan, outcome, settled.as_ref(), &view);
            if settled.is_some() {
                broken.extend(passing(plan, outcome, &broken, &view, Dated::of(scenario)));
            }
            broken
        }
        Advice::Later => Vec::new(),
    };
    let todo = of_this_file(verdict::todo(plan, &broken), loaded, settled.as_ref());
    let todo = after_the_faults(todo, &meanwhile, bands_kept);
    let mut warnings = warnings(plan, outcome, &view, Dated::of(scenario));
    warnings.extend(band_warnings(plan, outcome, settled.as_ref(), &broken, &view));
    warnings.extend(unstated_water(scenario, outcome, &view));
    warnings.extend(chemistry(plan, outcome, &view));
    Summary {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: scenario.name.clone(),
        basis: plan.basis.key().into(),
        checksum: loaded.checksum.clone(),
        overrides: loaded.overrides.clone(),
        start: scenario.start.to_string(),
        days: outcome.days,
        from_d: outcome.from_d,
        meanwhile,
        answer: verdict::answer(&bands, &spans, settled.as_ref(), Telling { view: &view, dated: Dated::of(scenario) })
            + uncertain(scenario)
            + &outcome.tally.outside_density_range_d.as_ref().map_or_else(String::new, |day| {
                format!(
                    " {} the salinity goes beyond 42 psu, where these numbers are a direction only.",
                    capitalised(&Dated::of(scenario).on(*day))
                )
            }),
        todo,
        bands_kept,
        bands,
        spans,
        drift: outcome.drift(plan),
        totals: Totals::of(&outcome.tally, &plan.costs),
        settled,
        not_settled_because,
        ledger_residual: outcome.ledger.relative_residual(),
        defaults: scenario.defaults.clone(),
        warnings,
        cautions: cautions(plan, outcome).into_iter().map(|c| c.text().to_owned()).collect(),
    }
}

/// Where something is wrong with the tank, that is to be put right first: the other advice is of the tank without it.
fn after_the_faults(actions: Vec<Action>, meanwhile: &[Meanwhile], bands_kept: bool) -> Vec<Action> {
    let faults: Vec<&str> = meanwhile.iter().filter(|m| m.kind == "fault").map(|m| m.what.as_str()).collect();
    if faults.is_empty() || bands_kept {
        return actions;
    }
    let rest = if actions.is_empty() { "" } else { " The rest is for the tank without it." };
    let first = Action::new(format!("First find and end what is wrong: {}.{rest}", faults.join(", ")));
    std::iter::once(first).chain(actions).collect()
}

/// Actions with the keys under which the changes stand in this file; where one brings another band out, it says so.
fn of_this_file(actions: Vec<Action>, loaded: &Loaded, settled: Option<&Settled>) -> Vec<Action> {
    let table = loaded.change_key();
    // Whether it brings another band out, and the way as it is told.
    let of_file = |way: Way| {
        let one =
            |set: &String| set.strip_prefix("change.").map_or_else(|| set.clone(), |rest| format!("{table}.{rest}"));
        let set: Vec<String> = way.set.iter().map(one).collect();
        // What this file does not take is done by hand.
        let Ok(changed) = loaded.with(&set) else { return (false, Way::by_hand(way.what)) };
        let out = settled.filter(|_| !set.is_empty()).and_then(|now| brings_out(&changed.scenario.plan, now));
        match out {
            Some(out) => (true, Way { what: format!("{} But then {out} leaves its band.", way.what), set }),
            None => (false, Way { what: way.what, set }),
        }
    };
    actions
        .into_iter()
        .map(|action| {
            let first = Way { what: action.what, set: action.set };
            let mut ways: Vec<(bool, Way)> = std::iter::once(first).chain(action.or).map(of_file).collect();
            ways.sort_by_key(|(brings_out, _)| *brings_out);
            let mut ways = ways.into_iter().map(|(_, way)| way);
            let Way { what, set } = ways.next().unwrap_or_else(|| Way::by_hand(""));
            Action { what, set, or: ways.collect() }
        })
        .collect()
}

/// What is inside its band in the long run now, and outside it with another plan.
fn brings_out(changed: &Plan, settled: &Settled) -> Option<String> {
    let then = settle(changed).ok()?;
    let out = |settled: &Settled, band: &Band| {
        let span = span(settled, band);
        worst_of(band, span.trough, span.peak).abs() > 1e-9 * span.peak.abs()
    };
    let bands = changed.bands.iter().filter(|band| out(&then, band) && !out(settled, band));
    let names: Vec<String> = bands.map(|band| spoken(changed.named(band.of).0)).collect();
    (!names.is_empty()).then(|| names.join(" and "))
}

/// What a run leaves open where the file says that something is uncertain.
fn uncertain(scenario: &Scenario) -> &'static str {
    if scenario.uncertainty.is_none() {
        ""
    } else {
        " That is at the stated values; for the chance see brinecast ensemble."
    }
}

pub(super) fn warnings(plan: &Plan, outcome: &Outcome, view: &View, dated: Dated) -> Vec<Warning> {
    let units = view.units;
    let tally = &outcome.tally;
    let day = |t: f64| dated.day(t);
    let mut list = Vec::new();
    let starts = tally.pump_starts as f64 / outcome.days.max(1e-9);
    if starts > MANY_STARTS {
        list.push(Warning::new(
            "pump-starts",
            format!("the top-off's pump starts {} times a day", trimmed(starts, 0)),
            "let the level fall further before it starts (top_off.gap), or use a smaller pump or a valve; many starts wear out pump and switch (common practice, no source)",
        ));
    }
    list.extend(water::of_tally(tally, units, dated));
    if let Some(t) = tally.outside_density_range_d {
        list.push(Warning::new(
            "outside-density-range",
            format!("from {} on, salinity is outside 0 to 42 psu, the range of the equation of state", day(t)),
            "take later numbers as a direction only",
        ));
    }
    list.extend(change_warnings(plan, outcome, units));
    list
}

/// What is worth a word about the changes.
fn change_warnings(plan: &Plan, outcome: &Outcome, units: crate::units::UnitSystem) -> Vec<Warning> {
    let mut list = Vec::new();
    if outcome.tally.change_short_l > 0.0 {
        list.push(Warning::new(
            "change-short",
            format!(
                "changes removed {} less than planned, because the tank did not hold it",
                Volume::from_litres(outcome.tally.change_short_l).show(units)
            ),
            "make the changes smaller, or top off first",
        ));
    }
    let slipped: f64 =
        outcome.events.iter().filter(|e| e.event == "change").map(|e| e.in_l - e.out_l).fold(0.0, f64::max);
    if plan.regime.changes.iter().any(|c| c.top_off_on) && plan.regime.top_off.pump().is_some() {
        list.push(Warning::new(
            "top-off-on-during-change",
            format!(
                "the float lets in fresh water while the level is down: up to {} in one change",
                Volume::from_litres(slipped).show(units)
            ),
            "switch the top-off off before draining, and on again after filling",
        ));
    }
    let step = outcome
        .events
        .iter()
        .filter(|e| e.event == "change")
        .map(|e| e.salinity_after_psu - e.salinity_before_psu)
        .fold(0.0, |m: f64, s| if s.abs() > m.abs() { s } else { m });
    if step.abs() > LARGE_STEP_PSU {
        list.push(Warning::new(
            "salinity-step",
            format!("one change moves salinity by {} psu at once", trimmed(step, 2)),
            "make smaller changes, or mix new water closer to the tank; a usual limit is 1 psu a change (common practice, no source)",
        ));
    }
    list
}

/// Solutes that the tank holds and that new water was only taken not to hold: the file does not say. Nitrogen and
/// phosphorus are what changes are to take out, and new water without them is no surprise.
fn unstated_water(scenario: &Scenario, outcome: &Outcome, view: &View) -> Vec<Warning> {
    let plan = &scenario.plan;
    let regime = &plan.regime;
    let mut waters: Vec<WaterId> = regime.changes.iter().map(|c| c.water).collect();
    waters.extend(regime.exchange.map(|e| e.water));
    waters.sort_unstable();
    waters.dedup();
    let mut list = Vec::new();
    for (water, (i, species)) in waters.iter().flat_map(|&w| plan.species.each().map(move |s| (w, s))) {
        let (solute, new) = (&species.solute, &plan.waters[water]);
        let key = format!("waters.{}.{}", new.name, solute.key);
        let wanted = matches!(solute.role, Role::Constituent | Role::Other) && species.initial > 0.0;
        if wanted
            && new.solutes[i] == 0.0
            && new.per_salt_kg[i] == 0.0
            && scenario.defaults.iter().any(|d| d.key == key)
        {
            let say = |value: f64| view.say(&solute.key, value, solute.unit(), 3);
            list.push(Warning::new(
                "water-unstated",
                format!(
                    "{key} is not given, so {} is assumed to hold no {}; the tank goes from {} to {}",
                    new.name.replace('_', " "),
                    solute.key.replace('_', " "),
                    say(species.initial),
                    say(outcome.statistics.variable(Variable::Solute(i)).map_or(0.0, |s| s.last))
                ),
                format!("set {key} from a test or its maker, even if it is 0"),
            ));
        }
    }
    list
}

/// Bands that are not kept: by the settled cycle where there is one, by the run otherwise.
fn broken(plan: &Plan, outcome: &Outcome, settled: Option<&Settled>, view: &View) -> Vec<Broken> {
    let Some(settled) = settled else {
        // Where water is missing, no salinity of new water is the answer, nor anything else: the water is.
        if let Some(band) = too_salty(outcome) {
            let ways = top_off_ways(plan, outcome, view);
            if !ways.is_empty() {
                return vec![Broken { band, upwards: true, in_passing: false, ways }];
            }
        }
        let left = outcome.statistics.variables.iter().filter(|s| s.left_at_d.is_some());
        // What is worst early is cured early or not at all; but where it was outside from the start, only later counts.
        let early = |s: &Statistic| s.worst.1 < 0.5 * outcome.days && s.left_at_d.is_some_and(|day| day > 0.0);
        let lens = |s: &Statistic| if early(s) { Lens::Run } else { Lens::SecondHalf };
        return left
            .filter_map(|s| {
                let (band, upwards) = (s.band?, s.worst.0 > 0.0);
                Some(Broken { band, upwards, in_passing: false, ways: ways(plan, lens(s), &band, upwards, view) })
            })
            .collect();
    };
    // A reservoir that runs dry in a period, or a period in which nobody tops off, is not in the settled cycle of what is usual.
    let dry = too_salty(outcome)
        .map(|band| Broken { band, upwards: true, in_passing: true, ways: missing_for_a_time(plan, outcome, view) })
        .filter(|broken| !broken.ways.is_empty());
    let outside = plan.bands.iter().filter_map(|band| {
        let span = span(settled, band);
        let worst = worst_of(band, span.trough, span.peak);
        (worst.abs() > 1e-9 * span.peak.abs()).then_some((*band, worst > 0.0))
    });
    let usual = outside.map(|(band, upwards)| Broken {
        band,
        upwards,
        in_passing: false,
        ways: ways(plan, Lens::Settled, &band, upwards, view),
    });
    dry.into_iter().chain(usual).collect()
}

/// The band of the salinity where a run rises above it.
fn too_salty(outcome: &Outcome) -> Option<Band> {
    let salinity = outcome.statistics.variable(Variable::Salinity)?;
    salinity.band.filter(|_| salinity.left_at_d.is_some() && salinity.worst.0 > 0.0)
}

/// Warnings of bands that are not kept.
fn band_warnings(
    plan: &Plan,
    outcome: &Outcome,
    settled: Option<&Settled>,
    broken: &[Broken],
    view: &View,
) -> Vec<Warning> {
    broken
        .iter()
        .map(|b| {
            let (name, unit) = plan.named(b.band.of);
            let shown = view.of(name, unit);
            let number = |v: f64| shown.number(v, 4);
            let statistic = outcome.statistics.variables.iter().find(|s| s.of == Some(b.band.of));
            let Some(settled) = settled.filter(|_| !b.in_passing) else {
                let edge = if b.upwards { b.band.high } else { b.band.low }.unwrap_or(0.0);
                let (at, worst) = statistic.map_or((0.0, (0.0, 0.0)), |s| (s.left_at_d.unwrap_or(0.0), s.worst));
                let text = format!(
                    "{} leaves its band on day {} and reaches {} {} on day {}",
                    spoken(name),
                    trimmed(at, 1),
                    number(edge + worst.0),
                    shown.unit,
                    trimmed(worst.1, 1)
                );
                return Warning::new("leaves-band", text, advice(plan, b));
            };
            let span = span(settled, &b.band);
            let kept = statistic.is_some_and(|s| s.left_at_d.is_none());
            let half = settled.half_life_d.map_or(String::new(), |d| format!(" (half-life {} days)", trimmed(d, 0)));
            let text = format!(
                "{} {} between {} and {} {}, outside its band{half}",
                spoken(name),
                if kept { "keeps its band in this run, but settles" } else { "settles" },
                number(span.trough),
                number(span.peak),
                shown.unit
            );
            Warning::new("settles-outside", text, advice(plan, b))
        })
        .collect()
}

/// A change of salinity at once that is called large: 1 psu (common practice, no source).
const LARGE_STEP_PSU: f64 = 1.0;

fn worst_of(band: &Band, low: f64, high: f64) -> f64 {
    let (below, above) = (band.excess(low), band.excess(high));
    if below.abs() > above.abs() { below } else { above }
}

/// Starts of a pump a day that are many (common practice, no source).
const MANY_STARTS: f64 = 200.0;

/// Largest batch that one lifts without thinking \[kg\]: common practice, no source.
const LIFT_KG: f64 = 20.0;

fn cautions(plan: &Plan, outcome: &Outcome) -> Vec<Caution> {
    let regime = &plan.regime;
    let mut list = vec![Caution::Planning];
    let largest = regime.changes.iter().map(|c| c.amount.of(plan.tank.operating).litres()).fold(0.0, f64::max);
    if !regime.changes.is_empty() {
        list.extend([Caution::Electricity, Caution::Dust]);
    }
    if outcome.tally.waste_l > 0.0 {
        list.push(Caution::Sewer);
    }
    if Mass::from_kg(largest * 1.025).kg() > LIFT_KG {
        list.push(Caution::Weight);
    }
    if regime.top_off.can_stick() {
        list.push(Caution::Flooding);
    }
    let used = |i: WaterId| {
        i == regime.top_off.water
            || regime.changes.iter().any(|c| c.water == i)
            || regime.exchange.is_some_and(|e| e.water == i)
    };
    let dissolves = plan.waters.each().any(|(i, w)| used(i) && w.ions_kg_per_l > 0.0);
    if dissolves || !regime.doses.is_empty() || !regime.dosing.is_empty() {
        list.push(Caution::Chemicals);
    }
    if plan.waters.each().any(|(i, w)| used(i) && w.name.contains("tap")) {
        list.push(Caution::TapWater);
    }
    let salinity = &outcome.statistics.variables[1];
    if salinity.highest.0 - salinity.lowest.0 > LARGE_STEP_PSU {
        list.push(Caution::Animals);
    }
    list
}

/// The faults and periods that fall into a run, each round of a yearly one by itself.
fn meanwhile(scenario: &Scenario, outcome: &Outcome) -> Vec<Meanwhile> {
    let (begin, end) = (outcome.from_d, outcome.from_d + outcome.days);
    let mut list = scenario.faults.clone();
    for period in scenario.plan.periods.iter().filter(|p| !p.of_series) {
        list.extend(period.rounds(end).into_iter().map(|(from_d, to_d)| Meanwhile {
            kind: "period",
            what: period.name.replace('_', " "),
            from_d,
            to_d: Some(to_d),
        }));
    }
    list.retain(|m| m.from_d < end && m.to_d.is_none_or(|to| to > begin));
    for m in &mut list {
        (m.from_d, m.to_d) = (m.from_d.max(begin), m.to_d.filter(|to| *to < end));
    }
    list.sort_by(|a, b| a.from_d.total_cmp(&b.from_d));
    list
}
