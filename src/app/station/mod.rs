//! `station`: tanks and mixing station run together; stores sized; a year, a first fill, a round.

mod answer;
mod load;
mod request;
mod round;
mod sizes;
mod story;
mod words;
mod year;

pub use answer::StationResult;
use answer::{curve, round_sheet};

use round::round;
use sizes::{calendar, chances, salt_store, sizes, without_supply};
use story::{batches, levels, purifier_use, trips, unmet};
use year::{first_fill, year};

use crate::app::dated::Dated;
use crate::app::{AppError, water, within_reach};
use crate::chart::{Head, Line, Multiples, Panel, Picture, Series};
use crate::export;
use crate::results::{Caution, LevelLine, PurifierUse, StationAnswer, TankLine, Warning};
use crate::scenario::StationFile;
use crate::sizing::{Shortage, StationOutcome, run_station};
use crate::units::{significant, trimmed};

/// Starts of a purifier a day beyond which something is said (common practice, no source).
const MANY_STARTS_PER_D: f64 = 24.0;

pub(in crate::app) use load::STATIONS;
pub use load::{LoadedStation, is_built_in_station, load_station};
pub use request::StationRequest;

/// Runs a station with its tanks, and sizes its stores.
pub fn station(loaded: &LoadedStation, request: &StationRequest) -> Result<StationResult, AppError> {
    let file = &loaded.file;
    within_reach(loaded.tanks.iter().map(|t| (t.plan.work(), 1.0)))?;
    let outcome = run_station(&file.station, &loaded.tanks, file.run.days())?;
    let trips = trips(loaded, &outcome);
    let round = round(loaded, &outcome, &trips, request.round_day)?;
    let calendar = calendar(loaded)?;
    let needed = chances(loaded, &calendar, request);
    let (sizing, size_warnings) = sizes(loaded, &calendar, request, &outcome, &needed)?;
    let tanks = tank_lines(loaded, &outcome);
    let unmet_counts = Unmet::of(&outcome);
    let shortage = curve(&needed);
    // What lies below the outlet is of no use.
    let shortage_chance = crate::study::shortage_chance(&needed, file.station.fresh_l - file.station.heel_l);
    let purifier = purifier_use(&outcome, file.run.days());
    let (word, finding, mut more) = told(&outcome, file, shortage_chance, request.accepted);
    // Enough water is not all that a tank needs.
    more += &match tanks.iter().filter(|t| t.left_at_d.is_some()).count() {
        0 => String::new(),
        n => format!(" But {n} of {} tanks {} a band.", tanks.len(), if n == 1 { "leaves" } else { "leave" }),
    };
    let mut warnings = size_warnings;
    if !loaded.spreads_left_out.is_empty() {
        warnings.push(Warning::new(
            "spreads-left-out",
            format!(
                "stores are sized by the spread of evaporation only; left out: {}",
                loaded.spreads_left_out.join(", ")
            ),
            "see each tank's own ensemble for what they do to it",
        ));
    }
    warnings.extend(run_warnings(loaded, &outcome, &unmet_counts, purifier, &tanks));
    let all_levels = levels(loaded, &outcome);
    let answer = StationAnswer {
        brinecast: env!("CARGO_PKG_VERSION").into(),
        scenario: loaded.name.clone(),
        basis: loaded.tanks[0].plan.basis.key().into(),
        seed: request.seed,
        answer: format!("{word} {finding}.{more}"),
        finding,
        shortage_chance,
        accepted: request.accepted,
        days: file.run.days(),
        late_changes: unmet_counts.late,
        smaller_changes: unmet_counts.smaller,
        short_refills: unmet_counts.short,
        sizing,
        salt_store: salt_store(loaded, &calendar, &outcome)?,
        without_supply: without_supply(loaded, &calendar, request.without_supply_d)?,
        shortage,
        purifier,
        levels: all_levels.iter().filter(|l| l.time_d.fract() == 0.0).cloned().collect(),
        unmet: unmet(loaded, &outcome),
        batches: batches(loaded, &outcome),
        trips,
        year: year(loaded, &outcome)?,
        first_fill: first_fill(loaded)?,
        round,
        residual: residual(&outcome),
        warnings,
        cautions: [
            Caution::Planning,
            Caution::Weight,
            Caution::Electricity,
            Caution::Flooding,
            Caution::Dust,
            Caution::Sewer,
        ]
        .map(|c| c.text().to_owned())
        .to_vec(),
        tanks,
    };
    let pictures = pictures(loaded, &all_levels, &answer);
    let round = export::report_html(&round_sheet(loaded, &answer), &[]);
    Ok(StationResult { answer, pictures, round, levels: all_levels })
}

/// Needs that were not met in time, counted.
struct Unmet {
    late: usize,
    smaller: usize,
    short: usize,
}

impl Unmet {
    fn of(outcome: &StationOutcome) -> Self {
        let count = |of: &dyn Fn(&Shortage) -> bool| outcome.shortages.iter().filter(|s| of(s)).count();
        Self {
            late: count(&|s| s.change && s.missing_l == 0.0),
            smaller: count(&|s| s.change && s.missing_l > 0.0),
            short: count(&|s| !s.change),
        }
    }
}

fn tank_lines(loaded: &LoadedStation, outcome: &StationOutcome) -> Vec<TankLine> {
    loaded
        .tanks
        .iter()
        .zip(&outcome.tanks)
        .map(|(tank, o)| TankLine {
            name: tank.name.clone(),
            salinity_low: o.salinity_psu.0,
            salinity_high: o.salinity_psu.1,
            changes: o.changes,
            changed_l: o.changed_l,
            top_off_l: o.top_off_l,
            left_at_d: o.left_at_d,
        })
        .collect()
}

/// What the run itself warns of.
fn run_warnings(
    loaded: &LoadedStation,
    outcome: &StationOutcome,
    counts: &Unmet,
    purifier: PurifierUse,
    tanks: &[TankLine],
) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let file = &loaded.file;
    let Unmet { late, smaller, short } = counts;
    if let Some(s) = outcome.shortages.first() {
        warnings.push(Warning::new(
            "water-short",
            format!(
                "{late} changes are late, {smaller} smaller or left out, {short} refills short; the first on day {} ({}: {})",
                trimmed(s.due_d, 1),
                loaded.tanks[s.tank].name,
                s.why.words()
            ),
            "use a larger store, another vessel, a larger purifier or a longer day, or mix further ahead",
        ));
    }
    if purifier.starts_per_d > MANY_STARTS_PER_D {
        warnings.push(Warning::new(
            "purifier-starts",
            format!("the purifier starts {} times a day", trimmed(purifier.starts_per_d, 0)),
            "let it start again well below full: station.fresh_store.restart",
        ));
    }
    warnings.extend(dry_between_visits(loaded));
    let elsewhere: f64 = outcome.tanks.iter().map(|t| t.from_elsewhere_l).sum();
    if elsewhere > 1e-6 {
        let shown = file.units.shown("L");
        warnings.push(Warning::new(
            "water-from-elsewhere",
            format!(
                "{} {} of salt water go into the tanks by exchange or corrections; the station does not supply them",
                shown.number(elsewhere, 3),
                shown.unit
            ),
            "add it by hand, or give those tanks changes instead",
        ));
    }
    for (tank, served) in loaded.tanks.iter().zip(&outcome.tanks) {
        let told = water::of_tally(&served.tally, file.units, Dated::by_days(file.run.days()));
        warnings.extend(told.into_iter().map(|w| water::named(w, &tank.name)));
    }
    let left: Vec<&str> = tanks.iter().filter(|t| t.left_at_d.is_some()).map(|t| t.name.as_str()).collect();
    if !left.is_empty() {
        warnings.push(Warning::new(
            "bands-left",
            format!("{} of {} tanks leave a band; the first is {}", left.len(), tanks.len(), left[0]),
            "run that tank by itself to see whether the water or the plan is the cause",
        ));
    }
    warnings
}

/// Reservoirs that do not last from one visit to the next.
fn dry_between_visits(loaded: &LoadedStation) -> Option<Warning> {
    let days = loaded.file.run.days();
    let short = |tank: &crate::sizing::ServedTank| {
        let visit = tank.visit.as_ref().filter(|v| !v.keeper_tops_off)?;
        let reservoir = tank.plan.regime.top_off.reservoir.as_ref()?.capacity.litres();
        let times = visit.schedule.between(-1e-6, days);
        let gaps = times.windows(2).map(|w| (w[0], w[1] - w[0])).chain(times.first().map(|first| (0.0, *first)));
        let needs = gaps.map(|(from, gap)| gap * tank.plan.regime.evaporation.on_day(from.floor()));
        let most = needs.fold(0.0, f64::max);
        (most > reservoir * (1.0 + 1e-9)).then(|| (tank.name.clone(), most, reservoir))
    };
    let (name, most, reservoir) = loaded.tanks.iter().find_map(short)?;
    let shown = loaded.file.units.shown("L");
    let say = |l: f64| format!("{} {}", shown.number(l, 3), shown.unit);
    Some(Warning::new(
        "dry-between-visits",
        format!("{name} evaporates {} between two visits, and its reservoir holds {}", say(most), say(reservoir)),
        "use a larger reservoir, more visits, or tops_off = \"keeper\"",
    ))
}

/// Yes or no, what is found, and what else is to be said.
fn told(outcome: &StationOutcome, file: &StationFile, chance: f64, accepted: f64) -> (&'static str, String, String) {
    let shown = file.units.shown("L");
    let say = |litres: f64, digits| format!("{} {}", shown.number(litres, digits), shown.unit);
    let lowest = say(outcome.lowest_fresh_l, 3);
    let trips = if file.station.van.is_some() {
        format!(" The van makes {} trips.", outcome.trips.len())
    } else {
        String::new()
    };
    let store = say(file.station.fresh_l, 4);
    let (word, finding, fall) = match outcome.shortages.len() {
        0 if chance > accepted => (
            StationAnswer::UNSURE,
            format!(
                "In this run the fresh store of {store} never falls below {lowest}, but the chance of a shortage within {} days is {} %",
                trimmed(file.run.days(), 0),
                trimmed(100.0 * chance, 0)
            ),
            String::new(),
        ),
        0 => (
            "Yes.",
            format!(
                "There is always enough water: the fresh store of {store} never falls below {lowest}, and every change is on time"
            ),
            String::new(),
        ),
        n => (
            "No.",
            match n {
                1 => "One change or refill is late, smaller or left out".to_owned(),
                n => format!("{n} changes or refills are late, smaller or left out"),
            },
            format!(" The fresh store falls to {lowest}."),
        ),
    };
    (word, finding, fall + &trips)
}

fn residual(outcome: &StationOutcome) -> f64 {
    let b = &outcome.books;
    let fresh = b.start_kg + b.made_kg - b.top_off_kg - b.batches_kg - b.trim_kg - b.end_kg;
    let salt = b.salt_in_kg - b.salt_out_kg - b.salt_end_kg;
    (fresh.abs() / (b.start_kg + b.made_kg)).max(salt.abs() / b.salt_in_kg.max(1e-9))
}

fn pictures(loaded: &LoadedStation, levels: &[LevelLine], answer: &StationAnswer) -> Vec<(String, Picture)> {
    let note = format!("{}, {} basis, {} tanks", loaded.file.title, answer.basis, loaded.tanks.len());
    let shown = loaded.file.units.shown("L");
    let line = |of: &dyn Fn(&LevelLine) -> f64| levels.iter().map(|l| (l.time_d, of(l))).collect();
    let late: Vec<f64> = answer.unmet.iter().map(|u| u.due_d).collect();
    let panel = |title: &str, unit: &str, full: Option<f64>, line| Panel {
        title: title.into(),
        y_label: full.map_or_else(|| unit.to_owned(), |full| format!("{unit}, of {}", significant(full, 4))),
        band: (Some(0.0), full),
        line,
        marks: late.clone(),
        ..Panel::default()
    };
    let station = &loaded.file.station;
    let accepted = 100.0 * answer.accepted;
    // The size of the table, so that one store has one number.
    let by_chance = answer.sizing.iter().find(|s| s.what == StationAnswer::BY_CHANCE);
    let enough = by_chance.map(|s| shown.value(s.needed_l));
    let left = answer.tanks.iter().filter(|t| t.left_at_d.is_some()).count();
    let tanks = match left {
        0 => String::new(),
        1 => "; 1 tank leaves a band".into(),
        n => format!("; {n} of {} tanks leave a band", answer.tanks.len()),
    };
    let legend = if answer.unmet.is_empty() { "" } else { "; upright line: a change late, smaller or left out" };
    let vessels: f64 = station.vessels.iter().map(|v| v.0).sum();
    let mut panels = vec![
        panel("Fresh water", &shown.unit, Some(shown.value(station.fresh_l)), line(&|l| shown.value(l.fresh_l))),
        panel("Salt water, ready", &shown.unit, Some(shown.value(vessels)), line(&|l| shown.value(l.salt_water_l))),
    ];
    if let Some(full) = station.salt_mix_kg {
        let kg = loaded.file.units.shown("kg");
        panels.push(panel("Salt mix", &kg.unit, Some(kg.value(full)), line(&|l| kg.value(l.salt_mix_kg))));
    }
    let levels = Multiples {
        head: Head {
            finding: answer.finding.clone() + &tanks,
            question: "Is there always enough water?".into(),
            note: format!("{note}; shaded in green: what it holds{legend}"),
        },
        x_label: format!("days from {}", loaded.file.start),
        since: Some(loaded.file.start),
        columns: 1,
        panels,
    };
    let chance = Series {
        head: Head {
            finding: enough.map_or_else(
                || format!("No size shown brings the chance of a shortage to {} %", significant(accepted, 3)),
                |size| {
                    format!(
                        "A store of {} {} keeps the chance of a shortage at or below {} %",
                        significant(size, 3),
                        shown.unit,
                        significant(accepted, 3)
                    )
                },
            ),
            question: "How large must the fresh store be?".into(),
            note: format!("{note}; beginning full, with uncertain evaporation, missed rounds, outages and emergencies"),
        },
        x_label: format!("size of the fresh store, {}", shown.unit),
        y_label: "chance of a shortage in the run, %".into(),
        band: (None, Some(accepted)),
        band_name: "accepted".into(),
        marks: vec![(shown.value(loaded.file.station.fresh_l), "yours".into())],
        unit: "%".into(),
        lines: vec![Line::new(
            "chance",
            answer.shortage.iter().map(|s| (shown.value(s.size_l), 100.0 * s.chance)).collect(),
        )],
        from_zero: true,
        ..Series::default()
    };
    vec![("station_levels".into(), Picture::Multiples(levels)), ("shortage".into(), Picture::Series(chance))]
}
