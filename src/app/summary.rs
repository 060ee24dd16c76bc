//! The answer of a run: bands, drift, totals, what it settles to, warnings with advice, cautions.

use super::Loaded;
use super::chemistry::chemistry;
use super::remedies::{is_dosed, ways};
use crate::engine::{Outcome, settle};
use crate::model::{Band, Id, Plan, Variable, WaterId};
use crate::results::{BandReport, Caution, Meanwhile, Settled, Span, Summary, Totals, Warning};
use crate::scenario::Scenario;
use crate::solutes::{Role, View};
use crate::study::Lens;
use crate::units::{InUnits, Mass, Volume, significant, trimmed};

/// Sums a run up.
#[must_use]
pub fn summarise(loaded: &Loaded, outcome: &Outcome) -> Summary {
    let scenario = &loaded.scenario;
    let plan = &scenario.plan;
    let (settled, not_settled_because) = match settle(plan) {
        Ok(settled) => (Some(settled), None),
        Err(why) => (None, Some(why.to_string())),
    };
    let bands = outcome.bands(plan);
    let spans = outcome.spans(plan);
    let view = scenario.view();
    let mut warnings = warnings(plan, outcome, settled.as_ref(), &view);
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
        meanwhile: meanwhile(scenario, outcome),
        answer: answer(&bands, &spans, &view)
            + &outcome.tally.outside_density_range_d.map_or_else(String::new, |day| {
                format!(
                    " From day {} on the salinity is beyond 42 psu, where these numbers are a direction only.",
                    trimmed(day, 1)
                )
            }),
        bands_kept: bands.iter().all(|b| b.kept),
        bands,
        spans,
        drift: outcome.drift(plan),
        totals: Totals::from(&outcome.tally),
        settled,
        not_settled_because,
        ledger_residual: outcome.ledger.relative_residual(),
        defaults: scenario.defaults.clone(),
        warnings,
        cautions: cautions(plan, outcome).into_iter().map(|c| c.text().to_owned()).collect(),
    }
}

/// The answer in one sentence.
fn answer(bands: &[BandReport], spans: &[Span], view: &View) -> String {
    let number = |v: f64| significant(v, 4);
    if bands.is_empty() {
        let salinity = spans.iter().find(|s| s.key == "salinity");
        return salinity.map_or(String::new(), |s| {
            format!("No band was asked for; salinity runs from {} to {} psu.", number(s.lowest), number(s.highest))
        });
    }
    let broken: Vec<String> = bands
        .iter()
        .filter(|b| !b.kept)
        .map(|b| {
            let edge = if b.worst > 0.0 { b.high } else { b.low }.unwrap_or(0.0);
            let shown = view.of(&b.key, &b.unit);
            format!(
                "{} leaves its band on day {} and is at worst {} {} on day {} (limit {}), {} d outside in all",
                b.key,
                trimmed(b.left_at_d.unwrap_or(0.0), 1),
                number(shown.value(edge + b.worst)),
                shown.unit,
                trimmed(b.worst_d.unwrap_or(0.0), 1),
                number(shown.value(edge)),
                trimmed(b.outside_d, 1)
            )
        })
        .collect();
    if !broken.is_empty() {
        return format!("No: {}.", broken.join("; "));
    }
    let kept: Vec<String> = bands
        .iter()
        .filter_map(|b| spans.iter().find(|s| s.key == b.key))
        .map(|s| {
            let shown = view.of(&s.key, &s.unit);
            format!("{} {} to {} {}", s.key, number(shown.value(s.lowest)), number(shown.value(s.highest)), shown.unit)
        })
        .collect();
    format!("Yes, every band is kept: {}.", kept.join("; "))
}

fn warnings(plan: &Plan, outcome: &Outcome, settled: Option<&Settled>, view: &View) -> Vec<Warning> {
    let units = view.units;
    let tally = &outcome.tally;
    let day = |t: f64| format!("day {}", trimmed(t, 1));
    let mut list = Vec::new();
    let starts = tally.pump_starts as f64 / outcome.days.max(1e-9);
    if starts > MANY_STARTS {
        list.push(Warning::new(
            "pump-starts",
            format!("the top-off's pump starts {} times a day", trimmed(starts, 0)),
            "let the level fall further before it starts (top_off.gap), or take a smaller pump or a valve: many starts wear pump and switch out (common practice, no source)",
        ));
    }
    if let Some(t) = tally.reservoir_dry_d {
        list.push(Warning::new(
            "reservoir-dry",
            format!("the top-off reservoir runs dry on {} and stands dry for {} d in all", day(t), trimmed(tally.reservoir_dry_days, 1)),
            "fill it more often, cover the tank, or take a second, pumped stage; a larger reservoir also makes a stuck valve worse",
        ));
    }
    if let Some(t) = tally.starved_d {
        list.push(Warning::new(
            "return-pump-starved",
            format!("the level falls so low on {} that the return pump draws air", day(t)),
            "check the top-off; a pump that runs dry overheats: a low-level cut-out, as its maker says",
        ));
    }
    if let Some(t) = tally.spilled_d {
        list.push(Warning::new(
            "spill",
            format!(
                "{} of tank water run over the rim, first on {}",
                Volume::from_litres(tally.spilled_l).show(units),
                day(t)
            ),
            "leave more room below the rim, or limit how much can run in",
        ));
    }
    if let Some(t) = tally.empty_d {
        list.push(Warning::new(
            "tank-empty",
            format!("the tank is all but empty on {}, and the run ends there", day(t)),
            "look for what takes more water than is put back",
        ));
    }
    if let Some(t) = tally.outside_density_range_d {
        list.push(Warning::new(
            "outside-density-range",
            format!("from {} on the salinity is outside 0 to 42 psu, where the equation of state holds; volumes after that are those of the last salinity inside", day(t)),
            "read such numbers as a direction, not as values",
        ));
    }
    list.extend(change_warnings(plan, outcome, units));
    match settled {
        Some(settled) => list.extend(settled_warnings(plan, outcome, settled, view)),
        None => list.extend(left_warnings(plan, outcome, view)),
    }
    list
}

/// What is worth a word about the changes.
fn change_warnings(plan: &Plan, outcome: &Outcome, units: crate::units::UnitSystem) -> Vec<Warning> {
    let mut list = Vec::new();
    if outcome.tally.change_short_l > 0.0 {
        list.push(Warning::new(
            "change-short",
            format!(
                "changes took {} less than asked, because the tank did not hold it",
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
                "the float lets fresh water in while the level is down, up to {} in one change",
                Volume::from_litres(slipped).show(units)
            ),
            "switch the top-off off before draining and on again after filling",
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
            format!("one change moves the salinity by {} psu at once", trimmed(step, 2)),
            "smaller changes, or new water closer to the tank; a common limit is 1 psu a change",
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
                    "{key} is left out, so {} is taken to hold no {}, and the tank goes from {} to {}",
                    new.name.replace('_', " "),
                    solute.key.replace('_', " "),
                    say(species.initial),
                    say(outcome.statistics.variable(Variable::Solute(i)).map_or(0.0, |s| s.last))
                ),
                format!("state {key} as its maker or a test gives it, also where it is 0"),
            ));
        }
    }
    list
}

/// Bands that the run of a regime without a settled cycle leaves.
fn left_warnings(plan: &Plan, outcome: &Outcome, view: &View) -> Vec<Warning> {
    let variables = outcome.statistics.variables.iter();
    let left = variables.filter_map(|statistic| Some((statistic.band?, statistic.left_at_d?, statistic)));
    left.map(|(band, at, statistic)| {
        let (edge, upwards) = if statistic.worst.0 > 0.0 { (band.high, true) } else { (band.low, false) };
        let (name, unit) = plan.named(band.of);
        let shown = view.of(name, unit);
        let worst = edge.unwrap_or(0.0) + statistic.worst.0;
        let ways = ways(plan, Lens::SecondHalf, &band, upwards, view);
        Warning::new(
            "leaves-band",
            format!(
                "{name} leaves its band on day {} and reaches {} {} on day {}",
                trimmed(at, 1),
                significant(shown.value(worst), 4),
                shown.unit,
                trimmed(statistic.worst.1, 1)
            ),
            advice(plan, &band, upwards, &ways),
        )
    })
    .collect()
}

/// What to do about a band that is left: the levers with their numbers, or which ones to look at where none does it alone.
fn advice(plan: &Plan, band: &Band, upwards: bool, ways: &[String]) -> String {
    let general = match band.of {
        Variable::Salinity => "mix the new water to a salinity that makes good the standing loss or gain",
        Variable::Solute(i) if upwards && is_dosed(plan, i) => {
            "dose less of it: it is a supplement, and water changes are a dear way to take it out"
        }
        Variable::Solute(i) if upwards && plan.species[i].solute.role == Role::Contaminant => {
            "find where it comes from first, then change water (see rescue) and run fresh carbon"
        }
        Variable::Solute(i) if !upwards && plan.species[i].solute.role == Role::Medicine => {
            "dose again what the new water and the carbon took, by a test and the maker's sheet"
        }
        Variable::Solute(_) if upwards => {
            "change more water a month, lower the load, or add removal: how the month's total is split matters little"
        }
        Variable::Solute(_) => "dose it between changes: changes alone do not carry such a demand",
    };
    if ways.is_empty() { general.into() } else { ways.join("; or ") }
}

/// A change of salinity at once that is called large: 1 psu (common practice, no source).
const LARGE_STEP_PSU: f64 = 1.0;

/// Bands that the run keeps so far, but the settled cycle does not.
fn settled_warnings(plan: &Plan, outcome: &Outcome, settled: &Settled, view: &View) -> Vec<Warning> {
    let half = settled.half_life_d.map_or(String::new(), |d| format!(" (half the way takes {} d)", trimmed(d, 0)));
    let mut list = Vec::new();
    for band in &plan.bands {
        let span = match band.of {
            Variable::Salinity => &settled.salinity_psu,
            Variable::Solute(i) => &settled.solutes[i.place()],
        };
        let worst = worst_of(band, span.trough, span.peak);
        let kept = outcome.statistics.variables.iter().any(|w| w.of == Some(band.of) && w.left_at_d.is_none());
        let shown = view.of(&span.key, &span.unit);
        if worst.abs() > 1e-9 * span.peak.abs() {
            list.push(Warning::new(
                "settles-outside",
                format!(
                    "{} {} between {} and {} {}, outside its band{half}",
                    span.key,
                    if kept { "keeps its band in this run, but settles" } else { "settles" },
                    significant(shown.value(span.trough), 4),
                    significant(shown.value(span.peak), 4),
                    shown.unit
                ),
                advice(plan, band, worst > 0.0, &ways(plan, Lens::Settled, band, worst > 0.0, view)),
            ));
        }
    }
    list
}

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
