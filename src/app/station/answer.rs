//! What `station` answers, and the files that it makes.

use super::load::LoadedStation;
use crate::app::moment::said;
use crate::chart::Picture;
use crate::results::{
    Action, Caution, LevelLine, Report, ReportPart, ReportSection, RoundStop, ShortageChance, StationAnswer, YearLine,
};
use crate::sizing::assumed_reservoir;
use crate::units::{InUnits, Mass, UnitSystem, significant, trimmed};

/// A station's answer with pictures.
#[derive(Debug)]
pub struct StationResult {
    /// The answer.
    pub answer: StationAnswer,
    /// Levels and the chance of shortage.
    pub pictures: Vec<(String, Picture)>,
    /// The sheet of the round.
    pub round: String,
    /// What the stores hold at every moment at which something is done.
    pub levels: Vec<LevelLine>,
}

/// Sizes and the chance of shortage at each, from nothing to where no member runs dry.
pub(super) fn curve(needed: &[f64]) -> Vec<ShortageChance> {
    const POINTS: usize = 60;
    let most = needed.last().copied().unwrap_or(0.0);
    (0..=POINTS)
        .map(|i| {
            let size_l = 1.05 * most * i as f64 / POINTS as f64;
            ShortageChance { size_l, chance: crate::study::shortage_chance(needed, size_l) }
        })
        .collect()
}

/// The answer as it is told.
pub(super) fn told(loaded: &LoadedStation, a: &StationAnswer) -> Report {
    let units = loaded.file.units;
    let mut sizes = vec![sizes(a, units, false)];
    sizes.push(ReportPart::Text(stock_words(a, units)));
    let mut numbers = sizes;
    numbers.extend(unmet_words(a).map(ReportPart::Text));
    numbers.extend(round_words(a, units).map(ReportPart::Text));
    let lines = |l: &[YearLine]| -> Vec<Vec<String>> {
        let amount = |y: &YearLine| y.shown(units).join(" ");
        l.iter().map(|y| vec![y.what.clone(), amount(y), y.inputs.clone()]).collect()
    };
    let yearly = ReportPart::table("What a year uses", &["", "amount", "from"], lines(&a.year));
    let first = ReportPart::table("To fill every tank anew", &["", "amount", "from"], lines(&a.first_fill));
    let mut round = Vec::new();
    if !a.round.stops.is_empty() {
        round.push(round_table(a, units));
    }
    Report {
        title: loaded.file.title.clone(),
        question: "Is there always enough water, and how large must the stores be?".into(),
        about: format!("{} tanks, {} days", a.tanks.len(), trimmed(a.days, 0)),
        verdict: Some(a.enough()),
        answer: a.answer.clone(),
        todo: larger_store(a, units, loaded.file.station.fresh_l),
        in_turn: false,
        numbers_are_the_answer: false,
        numbers,
        sections: vec![
            ReportSection::new(
                "Sizes",
                vec![
                    self::sizes(a, units, true),
                    ReportPart::Text([salt_words(a, units), supply_words(a, units)].join("\n")),
                ],
            ),
            ReportSection::new("Tanks", vec![tanks(loaded, a)]),
            ReportSection::new("Round", round),
            ReportSection::new("Day by day", story(a, units)),
            ReportSection::new("A year", vec![yearly]),
            ReportSection::new("First fill", vec![first]),
        ],
        warnings: a.warnings.clone(),
        caution: Some(Caution::Weight),
        cautions: a.cautions.clone(),
        provenance: vec![
            ("program".into(), format!("brinecast {}", a.brinecast)),
            ("station".into(), loaded.name.clone()),
            ("basis".into(), a.basis.clone()),
            ("seed".into(), a.seed.to_string()),
            ("balance error".into(), format!("{:.0e}", a.residual)),
        ]
        .into_iter()
        .chain(loaded.tanks.iter().filter_map(|tank| {
            let said = format!(
                "{} is assumed, filled from the store daily: its file gives none",
                assumed_reservoir(tank)?.show(units)
            );
            Some((format!("top-off reservoir of {}", tank.name), said))
        }))
        .collect(),
    }
}

/// A larger fresh store, where the one that there is is too small.
fn larger_store(a: &StationAnswer, units: UnitSystem, fresh_l: f64) -> Vec<Action> {
    let litres = units.shown("L");
    let needed = a
        .sizing
        .iter()
        .filter(|s| [StationAnswer::BY_CHANCE, StationAnswer::THIS_RUN].contains(&&*s.what))
        .map(|s| s.needed_l)
        .fold(0.0, f64::max);
    let chance = trimmed(100.0 * (1.0 - a.accepted), 1);
    (needed > fresh_l)
        .then(|| {
            Action::new(format!("Use a fresh store of {} {} ({chance} % sure).", litres.number(needed, 3), litres.unit))
        })
        .into_iter()
        .collect()
}

fn tanks(loaded: &LoadedStation, a: &StationAnswer) -> ReportPart {
    let litres = loaded.file.units.shown("L");
    let (changed, topped) = (format!("new water [{}]", litres.unit), format!("top-off [{}]", litres.unit));
    let rows = a.tanks.iter().map(|t| {
        let left = t.left_at_d.map_or("kept".into(), |d| format!("left on day {}", trimmed(d, 1)));
        let cells =
            [t.salinity_low, t.salinity_high, t.changes as f64, litres.value(t.changed_l), litres.value(t.top_off_l)];
        let cells = cells.map(|v| significant(v, 4));
        std::iter::once(t.name.clone()).chain(cells).chain([left]).collect()
    });
    let head = ["", "lowest [psu]", "highest [psu]", "changes", &changed, &topped, "bands"];
    ReportPart::table("Over the run", &head, rows.collect())
}

/// What is needed of each store; with why, where there is room for it.
fn sizes(a: &StationAnswer, units: UnitSystem, with_why: bool) -> ReportPart {
    let [litres, kg, pressure] = ["L", "kg", "kPa"].map(|unit| units.shown(unit));
    let rows = a.sizing.iter().map(|s| {
        let plain = s.plain_l.map_or("several".into(), |l| litres.number(l, 4));
        let floor = s.floor_kpa.map_or("-".into(), |k| trimmed(pressure.value(k), 1));
        let mut row = vec![s.what.clone(), litres.number(s.needed_l, 3), plain, kg.number(s.full_kg, 3), floor];
        row.extend(with_why.then(|| s.because.clone()));
        row
    });
    let head = [
        "store".to_owned(),
        format!("needed [{}]", litres.unit),
        format!("standard [{}]", litres.unit),
        format!("full [{}]", kg.unit),
        format!("on floor [{}]", pressure.unit),
    ];
    let mut head: Vec<&str> = head.iter().map(String::as_str).collect();
    head.extend(with_why.then_some("because"));
    ReportPart::table("Sizes of the stores", &head, rows.collect())
}

/// How many needs were not met, in words.
fn unmet_words(a: &StationAnswer) -> Option<String> {
    let first = a.unmet.first()?;
    Some(format!(
        "Not met: {} changes late, {} smaller or left out, {} refills short. The first is {} on {}: {}. All are in unmet.csv.",
        a.late_changes,
        a.smaller_changes,
        a.short_refills,
        first.tank,
        said(&first.due),
        first.why
    ))
}

/// The round in a sentence.
fn round_words(a: &StationAnswer, units: UnitSystem) -> Option<String> {
    let r = &a.round;
    let (litres, kg) = (units.shown("L"), units.shown("kg"));
    let say = |unit: &crate::units::Shown, v: f64| format!("{} {}", unit.number(v, 3), unit.unit);
    (!r.stops.is_empty()).then(|| {
        format!(
            "Round of {}, stops: {}. Load {} of salt water and {} of fresh water, {} in all (containers: {}, each of {} or less); {} h of work.",
            said(&r.day),
            r.stops.len(),
            say(&litres, r.salt_water_l),
            say(&litres, r.fresh_l),
            say(&kg, r.mass_kg),
            r.containers,
            say(&kg, r.container_kg),
            trimmed(r.minutes / 60.0, 1)
        )
    })
}

fn round_table(a: &StationAnswer, units: UnitSystem) -> ReportPart {
    let litres = units.shown("L");
    let number = |l: f64| trimmed(litres.value(l), 1);
    let rows = a.round.stops.iter().map(|s| {
        let name = if s.sick { format!("{} (sick)", s.name) } else { s.name.clone() };
        // The hour, where there is one.
        let at = s.arrive.rsplit_once(' ').map_or(s.arrive.as_str(), |(_, hour)| hour).to_owned();
        let mut row = vec![name, at];
        row.extend([s.out_l, s.mother_l, s.trim_l, s.top_off_l].map(number));
        row.push(trimmed(s.minutes, 0));
        row
    });
    let head = ["out", "salt", "fresh", "top-off to"].map(|what| format!("{what} [{}]", litres.unit));
    let head = ["", "at", &head[0], &head[1], &head[2], &head[3], "min"];
    ReportPart::table(&format!("Round of {}, clean before sick", a.round.day), &head, rows.collect())
}

/// What to have in store, in a sentence each.
fn stock_words(a: &StationAnswer, units: UnitSystem) -> String {
    let litres = units.shown("L");
    let kg = |kg: f64| Mass::from_kg(kg).show(units);
    let supply = &a.without_supply;
    format!(
        "After a delivery, have {} of salt mix in store. For {} days without supply, hold {} {} of fresh water and {} of salt mix.",
        kg(a.salt_store.needed_kg),
        trimmed(supply.days, 1),
        litres.number(supply.fresh_l, 3),
        litres.unit,
        kg(supply.salt_mix_kg)
    )
}

/// What the salt store must hold, in words.
fn salt_words(a: &StationAnswer, units: UnitSystem) -> String {
    let kg = |kg: f64| Mass::from_kg(kg).show(units);
    let store = &a.salt_store;
    let given = store.given_kg.map_or(String::new(), |given| format!("; the file has {}", kg(given)));
    format!(
        "Salt mix to have in store after a delivery: {} ({}). The run used at most {} between two deliveries{given}.",
        kg(store.needed_kg),
        store.because,
        kg(store.most_used_kg)
    )
}

/// What carries the station over days without supply, in words.
fn supply_words(a: &StationAnswer, units: UnitSystem) -> String {
    let litres = units.shown("L");
    let say = |l: f64| format!("{} {}", litres.number(l, 3), litres.unit);
    let supply = &a.without_supply;
    let heel =
        if supply.heel_l > 0.0 { format!(", {} of it below the outlet,", say(supply.heel_l)) } else { String::new() };
    format!(
        "For {} days without supply, hold {} of fresh water{heel} and {} of salt mix: the worst such days (from {}), and one emergency change.",
        trimmed(supply.days, 1),
        say(supply.fresh_l),
        Mass::from_kg(supply.salt_mix_kg).show(units),
        said(&supply.from)
    )
}

/// The purifier in words.
fn purifier_words(a: &StationAnswer) -> String {
    format!(
        "The purifier starts {} times a day and runs {} h a day.",
        trimmed(a.purifier.starts_per_d, 1),
        trimmed(a.purifier.hours_per_d, 1)
    )
}

/// Rows of a long table on a page; all are in the CSV file.
const MOST_ROWS: usize = 40;

/// Trips, batches and what was not met, the first of each.
fn story(a: &StationAnswer, units: UnitSystem) -> Vec<ReportPart> {
    let (litres, kg) = (units.shown("L"), units.shown("kg"));
    let l = |v: f64| trimmed(litres.value(v), 1);
    let of = |what: &str, all: usize, file: &str| {
        if all > MOST_ROWS { format!("{what}, the first {MOST_ROWS} of {all}; all in {file}") } else { what.to_owned() }
    };
    let mut parts = vec![ReportPart::Text(purifier_words(a))];
    if !a.unmet.is_empty() {
        let rows = a.unmet.iter().take(MOST_ROWS);
        let rows = rows.map(|u| {
            vec![u.due.clone(), u.tank.clone(), u.what.clone(), trimmed(u.late_d, 1), l(u.missing_l), u.why.clone()]
        });
        let missing = format!("missing {}", litres.unit);
        let caption = of("Not met in time", a.unmet.len(), "unmet.csv");
        parts.push(ReportPart::captioned(
            &caption,
            &["due", "tank", "what", "days late", &missing, "why"],
            rows.collect(),
        ));
    }
    if !a.trips.is_empty() {
        let rows = a.trips.iter().take(MOST_ROWS).map(|t| {
            let names: Vec<&str> = t.stops.iter().map(|s| s.name.as_str()).collect();
            let mass = trimmed(kg.value(t.mass_kg), 0);
            vec![t.leaves.clone(), t.back.clone(), l(t.salt_water_l), l(t.fresh_l), mass, names.join(", ")]
        });
        let head = ["salt", "fresh"].map(|w| format!("{w} {}", litres.unit));
        let mass = format!("water {}", kg.unit);
        let caption = of("Trips", a.trips.len(), "trips.csv");
        parts.push(ReportPart::captioned(
            &caption,
            &["leaves", "back", &head[0], &head[1], &mass, "stops"],
            rows.collect(),
        ));
    }
    let rows = a.batches.iter().take(MOST_ROWS).map(|b| {
        let mix = trimmed(kg.value(b.salt_mix_kg), 2);
        vec![b.begin.clone(), b.vessel.to_string(), l(b.litres), mix, b.salted.clone(), b.ready.clone()]
    });
    let head = [format!("finished {}", litres.unit), format!("salt mix {}", kg.unit)];
    let caption = of("Batches to mix", a.batches.len(), "batches.csv");
    parts.push(ReportPart::captioned(
        &caption,
        &["fill from", "vessel", &head[0], &head[1], "salt", "ready"],
        rows.collect(),
    ));
    parts
}

/// The sheet of the round: the load, the stops, and a form for each stop of the van.
pub(super) fn round_sheet(loaded: &LoadedStation, answer: &StationAnswer) -> Report {
    let round = &answer.round;
    let (shown, units) = (loaded.file.units.shown("L"), loaded.file.units);
    let litres = |l: f64| trimmed(shown.value(l), 1);
    let van = loaded.file.station.van.is_some();
    let row = |s: &RoundStop| {
        let name = if s.sick { format!("{} (sick: last, own tools)", s.name) } else { s.name.clone() };
        let arrive = s.arrive.rsplit(' ').next().unwrap_or_default().to_owned();
        let water = [s.out_l, s.mother_l, s.trim_l, s.top_off_l].map(litres);
        let mut row = vec![name];
        row.extend(van.then_some(arrive));
        row.extend(water);
        row.extend([trimmed(s.minutes, 0), String::new()]);
        row
    };
    let mut head = vec!["tank"];
    head.extend(van.then_some("arrive"));
    head.extend(["out", "salt in", "fresh in", if van { "top-off" } else { "top-off up to" }, "min", "done"]);
    let stops = |stops: &[RoundStop]| {
        ReportPart::table(&format!("Water in {}", shown.unit), &head, stops.iter().map(row).collect())
    };
    let mut sections = Vec::new();
    if van {
        for trip in answer.trips.iter().filter(|t| !round.day.is_empty() && t.leaves.contains(&round.day)) {
            let load = format!(
                "Load {} {unit} of salt water and {} {unit} of fresh water ({} in all). Back {}.",
                litres(trip.salt_water_l),
                litres(trip.fresh_l),
                Mass::from_kg(trip.mass_kg).show(units),
                said(&trip.back),
                unit = shown.unit
            );
            sections.push(ReportSection::new(
                &format!("Leave on {}", said(&trip.leaves)),
                vec![ReportPart::Text(load), stops(&trip.stops)],
            ));
        }
        sections.extend(round.stops.iter().map(|s| stop_form(loaded, s)));
    } else {
        sections.push(ReportSection::new("Stops, clean before sick", vec![stops(&round.stops)]));
    }
    Report {
        title: format!("Round of {}: {}", round.day, loaded.file.title),
        question: String::new(),
        answer: format!(
            "Load {} {unit} of salt water at {} psu and {} {unit} of fresh water, {} together (containers: {}, each of {} or less); about {} h of work.",
            litres(round.salt_water_l),
            trimmed(loaded.file.station.mother.psu(), 1),
            litres(round.fresh_l),
            Mass::from_kg(round.mass_kg).show(units),
            round.containers,
            Mass::from_kg(round.container_kg).show(units),
            trimmed(round.minutes / 60.0, 1),
            unit = shown.unit
        ),
        sections,
        cautions: [Caution::Weight, Caution::Electricity, Caution::Planning].map(|c| c.text().to_owned()).to_vec(),
        provenance: vec![("station".into(), loaded.name.clone())],
        ..Report::default()
    }
}

/// A form for one stop: what to do, and lines to write on.
fn stop_form(loaded: &LoadedStation, stop: &RoundStop) -> ReportSection {
    let shown = loaded.file.units.shown("L");
    let litres = |l: f64| format!("{} {}", trimmed(shown.value(l), 1), shown.unit);
    let line = |what: &str, plan: String| vec![what.to_owned(), plan, String::new()];
    let rows = vec![
        line("Read first: salinity, temperature", String::new()),
        line("Drain", litres(stop.out_l)),
        line("Put in: salt water", litres(stop.mother_l)),
        line("Put in: fresh water", litres(stop.trim_l)),
        line("Fill the top-off reservoir with", litres(stop.top_off_l)),
        line("Read after: salinity, temperature", String::new()),
        line("Pump, float and heater on again", String::new()),
    ];
    let heading = format!("{}, {}", stop.name, said(&stop.arrive));
    ReportSection::new(
        &heading,
        vec![ReportPart::table("To do, and what was found", &["", "plan", "done, or read"], rows)],
    )
}
