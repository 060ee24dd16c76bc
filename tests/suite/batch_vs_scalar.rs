//! Members side by side against the engine by itself: the same numbers, whatever happens to a member.

use brinecast::app::{Loaded, load_text};
use brinecast::engine::{Crossings, Entrants, Nothing, Observer, OutputGrid, Row, Simulation, Timetable};
use brinecast::model::{Id, Plan, SKIMMATE, SoluteId, Variable};
use brinecast::study::{Uncertainty, WalkError, grid_rows, interval, stream, walk, walk_watched_from};

const SIX: &str = r#"
format = 1
run = "200 d"
[tank]
volume = "400 L"
temperature = "25.5 C"
salinity = "35 psu"
[bands]
salinity = "34.2 to 36 psu"
nitrate = "below 14 mg/L"
[solutes.nitrate]
start = "8 mg/L"
load = "0.35 mg/L/d"
removal = "1 %/d"
[solutes.phosphate]
start = "0.05 mg/L"
load = "0.004 mg/L/d"
removal = "4 %/d"
[solutes.alkalinity]
start = "8 dKH"
uptake = "0.2 dKH/d"
[solutes.ammonia]
start = "0.01 mg/L"
load = "0.05 mg/L/d"
removal = "300 %/d"
[doses.buffer]
of = "alkalinity"
amount = "0.2 dKH"
every = "1 d"
at = "08:20"
[evaporation]
rate = "6 L/d"
[top_off]
by = "float"
pump = "30 L/h"
[losses]
skimmate = "0.2 L/d"
[change]
amount = "10 %"
every = "7 d"
[waters.salt_water]
salinity = "35 psu"
temperature = "20 C"
"#;

fn six(sets: &[&str]) -> Loaded {
    let sets: Vec<String> = sets.iter().map(|s| (*s).to_owned()).collect();
    load_text("six.toml", SIX, &sets).unwrap()
}

/// Rows of a run by itself, and when each band was left.
struct Alone {
    every: f64,
    rows: Vec<Vec<f64>>,
    last: usize,
}

impl Observer for Alone {
    fn row(&mut self, row: &Row<'_>) {
        while self.rows.len() < self.last && row.time_d >= self.every * self.rows.len() as f64 - 1e-9 {
            let solutes = (0..row.amounts.count()).map(|i| row.value(Variable::Solute(SoluteId::of(i))));
            self.rows.push(std::iter::once(row.salinity_psu).chain(solutes).collect());
        }
    }
}

/// Lowest and highest of a quantity on the rows of a run.
struct EveryRow {
    of: Option<Variable>,
    lowest: f64,
    highest: f64,
}

impl Default for EveryRow {
    fn default() -> Self {
        Self { of: None, lowest: f64::INFINITY, highest: f64::NEG_INFINITY }
    }
}

fn of_key(plan: &Plan, key: &str) -> Variable {
    plan.quantities().find(|of| plan.named(*of).0 == key).unwrap()
}

impl Observer for EveryRow {
    fn row(&mut self, row: &Row<'_>) {
        let value = row.value(self.of.unwrap());
        (self.lowest, self.highest) = (self.lowest.min(value), self.highest.max(value));
    }
}

/// Walks members of a scenario side by side and holds each against a run by itself: rows to a relative 1e-9
/// and the day on which each band is left to 1e-6.
fn hold(loaded: &Loaded, uncertain: &Uncertainty, count: usize, widen: impl Fn(usize, Plan) -> Plan + Sync) {
    hold_plan(&loaded.scenario.plan, uncertain, count, widen);
}

/// The same of a plan.
pub(crate) fn hold_plan(
    base: &Plan,
    uncertain: &Uncertainty,
    count: usize,
    widen: impl Fn(usize, Plan) -> Plan + Sync,
) {
    let member = |i: usize| {
        let mut rng = stream(7, i as u64);
        let mut plan = widen(i, base.clone());
        plan.output_every = Some(interval(base));
        uncertain.vary(&mut plan, &mut rng);
        Ok::<Plan, WalkError>(plan)
    };
    let mut rows = vec![Vec::new(); count];
    let quantities = base.species.len() + 1;
    let fates = walk(base, count, &member, &|_| true, |block| {
        for row in 0..block.rows {
            for (i, rows) in rows.iter_mut().enumerate() {
                rows.push((0..quantities).map(|q| block.cell(row, q)[i]).collect::<Vec<f64>>());
            }
        }
        Ok::<(), WalkError>(())
    })
    .unwrap();
    // Watched from a third of the run on, and from the last row.
    let watch = |begin| {
        let fates = walk_watched_from(begin, base, count, &member, &|_| true, |_| Ok::<(), WalkError>(())).unwrap();
        (begin, fates)
    };
    let later = [grid_rows(base) / 3, grid_rows(base) - 1].map(watch);
    for i in 0..count {
        let plan = member(i).unwrap();
        for (begin, fates) in &later {
            let mut simulation = Simulation::new(&plan).unwrap();
            let mut crossings = Crossings::new(&plan.bands);
            simulation.run_until(interval(base).days() * *begin as f64, &mut Nothing).unwrap();
            simulation.show("", &mut crossings);
            simulation.run_until(plan.horizon.days(), &mut crossings).unwrap();
            for (b, (a, left)) in crossings.left_at().iter().zip(&fates[i].left_d).enumerate() {
                match (a, left) {
                    (None, None) => {}
                    (Some(a), Some(b)) if (a - b).abs() < 1e-6 => {}
                    other => panic!("member {i}, watched from row {begin}, leaves band {b} at {other:?}"),
                }
            }
        }
        let mut alone = Alone { every: interval(base).days(), rows: Vec::new(), last: grid_rows(base) };
        let mut simulation = Simulation::new(&plan).unwrap();
        simulation.show("", &mut alone);
        simulation.run_until(plan.horizon.days(), &mut alone).unwrap();
        assert_eq!(rows[i].len(), grid_rows(base));
        // A tank that has run empty has no more rows.
        assert!(rows[i][alone.rows.len()..].iter().flatten().all(|v| v.is_nan()), "member {i}");
        for (day, (a, b)) in rows[i].iter().zip(&alone.rows).enumerate() {
            for (q, (a, b)) in a.iter().zip(b).enumerate() {
                assert!(
                    (a - b).abs() <= 1e-9 * b.abs() + 1e-12,
                    "member {i}, row {day}, quantity {q}: {a} against {b}"
                );
            }
        }
        let whole = brinecast::engine::run(&plan).unwrap();
        let (of_water, tally) = (&fates[i], &whole.tally);
        for (what, a, b) in [
            ("dry", tally.reservoir_dry_d, of_water.dry_d),
            ("starved", tally.starved_d, of_water.starved_d),
            ("spilled", tally.spilled_d, of_water.spilled_d),
        ] {
            let same = a.is_some() == b.is_some() && a.zip(b).is_none_or(|(a, b)| (a - b).abs() < 1e-6);
            assert!(same, "member {i} is {what} on {b:?}, alone on {a:?}");
        }
        for (band, left) in whole.bands(&plan).iter().zip(&fates[i].left_d) {
            match (band.left_at_d, left) {
                (None, None) => {}
                (Some(a), Some(b)) if (a - b).abs() < 1e-6 => {}
                other => panic!("member {i} leaves {} at {other:?}", band.key),
            }
        }
    }
}

pub(crate) fn uncertain(
    day_to_day: Option<(f64, f64)>,
    missed: Option<f64>,
    batch_error_psu: Option<f64>,
) -> Uncertainty {
    let day_to_day = day_to_day.map(|(cv, persistence_d)| brinecast::model::DayToDay { cv, persistence_d });
    Uncertainty { day_to_day, missed, batch_error_psu, ..Uncertainty::default() }
}

/// Every member has loads and losses of its own, so that some leave their bands and some cross whole salinities.
fn spread(i: usize, mut plan: Plan) -> Plan {
    let share = i as f64 / 20.0;
    plan.regime.loads[SoluteId::of(0)] *= 0.5 + share;
    plan.regime.set_outflow(&SKIMMATE, plan.regime.outflow(&SKIMMATE) * (10.0 * share));
    plan.species[SoluteId::of(1)].removal = plan.species[SoluteId::of(1)].removal * (1.0 + share);
    plan
}

#[test]
fn members_in_step_are_what_they_are_alone() {
    for basis in ["basis=mass", "basis=ideal"] {
        hold(&six(&[basis]), &uncertain(Some((0.25, 3.0)), Some(0.1), Some(0.3)), 20, spread);
    }
}

#[test]
fn members_in_step_meet_all_that_may_happen() {
    let calm = uncertain(None, None, None);
    let windy = uncertain(Some((0.8, 2.0)), None, None);
    let cases: [&[&str]; 13] = [
        &["change.fill=mark"],
        &["top_off.reservoir=40 L", "top_off.refill=7 d"],
        &["top_off.reservoir=20 L", "top_off.refill=3 d"],
        &["top_off.reservoir=20 L", "evaporation.rate=150 L/d"],
        &["top_off.pump=0.4 L/h"],
        &["exchange.out=5 L/d", "exchange.in=4 L/d"],
        &["exchange.out=5 L/d", "exchange.in=12 L/d"],
        &["solutes.alkalinity.uptake=0.3 dKH/d"],
        &["tank.rim=400.01 L", "waters.salt_water.temperature=30 C"],
        &["waters.salt_water.salinity=20 psu", "change.amount=30 %", "bands.salinity=15 to 36 psu"],
        &["top_off.level_offset=3 L", "evaporation.rate=1 L/d"],
        &["change.top_off=on"],
        &["output=5 d", "run=63.5 d", "change.every=6.1 d"],
    ];
    for sets in cases {
        for chance in [&calm, &windy] {
            hold(&six(sets), chance, 6, spread);
        }
    }
}

/// A float that lets the level fall by a gap: small and large ones, a pump that is slow or too weak, a reservoir that runs dry,
/// a change that finds the pump running, days longer than the legs that all lanes take together.
#[test]
fn members_with_a_float_of_two_levels_are_what_they_are_alone() {
    let calm = uncertain(None, None, None);
    let windy = uncertain(Some((0.5, 2.0)), Some(0.2), Some(0.3));
    let cases: [&[&str]; 13] = [
        &["top_off.gap=2 L"],
        &["top_off.gap=0.3 L"],
        &["top_off.gap=15 L", "top_off.pump=2 L/h"],
        &["top_off.gap=30 L"],
        &["top_off.gap=5 L", "top_off.pump=0.5 L/h"],
        &["top_off.gap=5 L", "top_off.pump=0.2 L/h"],
        &["top_off.gap=3 L", "change.fill=mark", "top_off.pump=1 L/h"],
        &["top_off.gap=3 L", "top_off.reservoir=20 L", "top_off.refill=3 d"],
        &["top_off.gap=3 L", "top_off.reservoir=40 L", "top_off.refill=7 d"],
        &["top_off.gap=3 L", "top_off.level_offset=2 L", "tank.rim=403 L"],
        &["top_off.gap=2 L", "exchange.out=5 L/d", "exchange.in=12 L/d"],
        &["top_off.gap=2 L", "waters.salt_water.salinity=20 psu", "change.amount=30 %", "bands.salinity=15 to 36 psu"],
        &["top_off.gap=2 L", "output=5 d", "run=63.5 d", "change.every=6.1 d"],
    ];
    // What goes fast is not for these lanes, which begin it all the same.
    for rest in [&[][..], &["solutes.ammonia=none"]] {
        for sets in cases {
            for chance in [&calm, &windy] {
                hold(&six(&[sets, rest].concat()), chance, 6, spread);
            }
        }
    }
}

/// Periods, of which every key may be another: rates, changes, doses, the pump, the gap and the reservoir.
#[test]
fn members_in_periods_are_what_they_are_alone() {
    let text = |keys: &str| {
        let dry = "[periods.dry]\nfrom = \"2026-04-05\"\nto = \"2026-05-17 13:00\"\n";
        let holiday = "[periods.holiday]\nfrom = \"2026-06-01\"\nto = \"2026-06-29\"\nchange = \"none\"\n";
        SIX.replace("run =", "start = \"2026-03-02\"\nrun =") + dry + keys + "\n" + holiday
    };
    let windy = uncertain(Some((0.5, 2.0)), Some(0.2), Some(0.3));
    for keys in [
        "evaporation.rate = \"9 L/d\"",
        "losses.skimmate = \"1 L/d\"\nsolutes.nitrate.load = \"0.6 mg/L/d\"",
        "change.every = \"3 d\"\nchange.amount = \"4 %\"",
        "change.fill = \"mark\"",
        "top_off.gap = \"3 L\"",
        "top_off.pump = \"0.4 L/h\"",
        "top_off.level_offset = \"-4 L\"",
        "top_off.by = \"none\"",
        "doses.buffer = \"none\"",
        "top_off.reservoir = \"60 L\"\ntop_off.refill = \"7 d\"",
    ] {
        for sets in
            [&[][..], &["top_off.gap=2 L", "solutes.ammonia=none"], &["top_off.reservoir=50 L", "top_off.refill=4 d"]]
        {
            let sets: Vec<String> = sets.iter().map(|s| (*s).to_owned()).collect();
            for chance in [&uncertain(None, None, None), &windy] {
                hold(&load_text("six.toml", &text(keys), &sets).unwrap(), chance, 6, spread);
            }
        }
    }
}

/// A tank with a period of some hours, or at the start, in which the top-off is another.
fn with_period(from: &str, to: &str, keys: &str, sets: &[&str]) -> Loaded {
    let period = format!("[periods.other]\nfrom = \"{from}\"\nto = \"{to}\"\n{keys}\n");
    let sets: Vec<String> = sets.iter().map(|s| (*s).to_owned()).collect();
    load_text("six.toml", &(SIX.replace("run =", "start = \"2026-03-02\"\nrun =") + &period), &sets).unwrap()
}

/// What a helper found that no random case comes upon: a dose that lifts the level over the rim, a reservoir that lasts exactly until
/// it is filled, a pump that remembers what it did through a period without a gap, a reservoir that is there from day 0 by a
/// period alone.
#[test]
fn members_are_what_they_are_alone_in_rare_moments() {
    let calm = uncertain(None, None, None);
    let salt = ["doses.salt.of=salt", "doses.salt.every=14 d", "solutes.ammonia=none", "bands.salinity=20 to 41 psu"];
    for more in [
        &["tank.rim=400.1 L", "doses.salt.amount=800 g"][..],
        &["tank.rim=400.3 L", "doses.salt.amount=3 kg", "top_off.gap=3 L"],
    ] {
        hold(&six(&[&salt[..], more].concat()), &calm, 3, |_, plan| plan);
    }
    for (reservoir, refill, rate) in [("14 L", "7 d", "2 L/d"), ("21 L", "3 d", "7 L/d"), ("11.9 L", "7 d", "1.7 L/d")]
    {
        let keys = [("reservoir", reservoir), ("refill", refill)].map(|(key, value)| format!("top_off.{key}={value}"));
        let rate = format!("evaporation.rate={rate}");
        for basis in ["basis=ideal", "basis=mass"] {
            let still = ["losses.skimmate=0 L/d", "change=none", basis, &*keys[0], &*keys[1], &*rate];
            hold(&six(&still), &calm, 1, |_, plan| plan);
        }
    }
    let slow =
        ["run=30 d", "solutes.ammonia=none", "top_off.gap=3 L", "top_off.pump=0.3 L/h", "evaporation.rate=6 L/d"];
    let keys = "top_off.gap = \"0 L\"\ntop_off.pump = \"0.1 L/h\"";
    for day in 5..12 {
        for hour in ["06", "12"] {
            let [from, to] = [0, 4].map(|h| format!("2026-03-{day:02} {:02}:00", hour.parse::<u32>().unwrap() + h));
            hold(&with_period(&from, &to, keys, &slow), &calm, 1, |_, plan| plan);
        }
    }
    for keys in ["top_off.reservoir = \"10 L\"", "top_off.reservoir = \"10 L\"\ntop_off.refill = \"3 d\""] {
        for sets in [&["run=20 d"][..], &["run=20 d", "top_off.reservoir=40 L"]] {
            let early = with_period("2026-03-02", "2026-03-12", keys, sets);
            let tally = brinecast::engine::run(&early.scenario.plan).unwrap().tally;
            assert!(tally.reservoir_dry_d.is_some_and(|d| d < 3.0), "10 L at 6 L/d: {tally:?}");
            hold(&early, &calm, 1, |_, plan| plan);
        }
    }
}

/// What happens on the way to the level and is undone by the end of the same segment: an uptake at zero, a band left
/// for hours, a volume law renewed.
#[test]
fn what_is_undone_in_a_segment_is_seen() {
    // A fast removal would send the lane through the segment by itself anyway.
    let slow = |sets: &[&str]| six(&[sets, &["solutes.ammonia=none", "solutes.phosphate=none"]].concat());
    let used_up = [
        "tank.start_volume=400.3 L",
        "losses.skimmate=0 L/d",
        "solutes.alkalinity.start=0 dKH",
        "waters.kalk.salinity=0 psu",
        "waters.kalk.alkalinity=20 dKH",
        "top_off.water=kalk",
        "doses.buffer.amount=0.0001 dKH",
        "change.amount=1 %",
    ];
    let calm = uncertain(None, None, None);
    hold(&slow(&used_up), &calm, 3, |_, plan| plan);
    let at_a_change = [
        "run=13 d",
        "losses.skimmate=0 L/d",
        "solutes.nitrate.start=9 mg/L",
        "solutes.nitrate.load=0 mg/L/d",
        "solutes.nitrate.removal=0.2 %/d",
        "bands.nitrate=below 9.207 mg/L",
        "change.amount=30 %",
        "waters.salt_water.nitrate=10 mg/L",
        "waters.salt_water.temperature=18 C",
        "solutes.alkalinity=none",
        "doses.buffer=none",
    ];
    hold(&slow(&at_a_change), &calm, 1, |_, plan| plan);
    let at_the_start = [
        "run=13 d",
        "tank.start_volume=400.3 L",
        "losses.skimmate=0 L/d",
        "solutes.nitrate.start=10 mg/L",
        "solutes.nitrate.load=0 mg/L/d",
        "bands.nitrate=below 10.002 mg/L",
        "change.amount=1 %",
    ];
    hold(&slow(&at_the_start), &calm, 1, |_, plan| plan);
    let below_a_whole_salinity = [
        "run=88.498 d",
        "output=0.7 d",
        "tank.salinity=14.4750 psu",
        "tank.start_volume=377.5633 L",
        "bands.salinity=12.9506 to 15.9489 psu",
        "bands.nitrate=below 11.2031 mg/L",
        "solutes.nitrate.start=7.591 mg/L",
        "solutes.nitrate.load=0.322 mg/L/d",
        "solutes.nitrate.removal=30.876 %/d",
        "solutes.alkalinity.start=9.470 dKH",
        "solutes.alkalinity.uptake=0.2294 dKH/d",
        "doses.salt.of=salt",
        "doses.salt.amount=801.466 g",
        "doses.salt.every=3.3 d",
        "evaporation.rate=4.901 L/d",
        "top_off.pump=0.327 L/h",
        "top_off.water=salt_water",
        "losses.skimmate=0.0000 L/d",
        "change.amount=0.979 %",
        "changes.second.amount=3 %",
        "changes.second.every=1 d",
        "doses.n2.of=nitrate",
        "doses.n2.amount=0.7 mg/L",
        "doses.n2.every=1 d",
        "doses.n2.at=08:20",
        "waters.salt_water.salinity=7.0393 psu",
        "waters.salt_water.temperature=25.94 C",
    ];
    let windy = uncertain(Some((0.8921821493028889, 9.056780549723408)), None, Some(0.7143994792312154));
    hold(&slow(&below_a_whole_salinity), &windy, 3, spread);
}

/// Of twenty members, those that do not enter, and those that leave.
fn gone(loaded: &Loaded) -> (usize, usize) {
    let base = &loaded.scenario.plan;
    let timetable = Timetable::new(base);
    let mut entrants = Entrants::new(&timetable);
    let apart = (0..20).filter(|i| !entrants.enter(&spread(*i, base.clone())).unwrap()).count();
    let mut lanes = entrants.start();
    let no_rows = OutputGrid { every: 1.0, next: 0, last: 0 };
    lanes.run_until(base.horizon.days(), no_rows, &mut []).unwrap();
    (apart, lanes.take_left().len())
}

/// Lanes carry the common case to its end, and say so where they do not.
#[test]
fn lanes_carry_what_they_can() {
    let gone = |sets: &[&str]| gone(&six(sets));
    assert_eq!(gone(&[]), (0, 0));
    assert_eq!(gone(&["basis=ideal", "top_off.reservoir=60 L", "top_off.refill=7 d"]), (0, 0));
    assert_eq!(
        gone(&["top_off.reservoir=17 L", "top_off.refill=3 d"]),
        (0, 20),
        "dry before it is filled again, always"
    );
    assert_eq!(gone(&["top_off.gap=2 L", "solutes.ammonia=none"]), (0, 0));
    assert_eq!(
        gone(&["top_off.gap=0.1 L", "solutes.ammonia=none"]),
        (0, 20),
        "more legs a day than lanes take together"
    );
    assert_eq!(gone(&["top_off.gap=2 L"]), (0, 20), "300 %/d");
    let period = |keys: &str, sets: &[&str]| self::gone(&with_period("2026-04-05", "2026-05-17 13:00", keys, sets));
    assert_eq!(period("evaporation.rate = \"9 L/d\"\nchange = \"none\"", &["solutes.ammonia=none"]), (0, 0));
    let gap = ["solutes.ammonia=none", "top_off.gap=2 L"];
    assert_eq!(
        period("top_off.gap = \"0 L\"\ntop_off.pump = \"9 L/h\"", &gap),
        (0, 0),
        "of two levels, of one, of two"
    );
    assert_eq!(period("top_off.by = \"none\"", &gap), (20, 0));
    let watched = ["bands.alkalinity=1 to 20 dKH", "solutes.alkalinity.uptake=0.1 dKH/d"];
    assert_eq!(gone(&watched), (0, 0), "alkalinity with nitrogen, watched");
    assert_eq!(gone(&["top_off.by=hand"]), (20, 0));
    let salted = ["run=100 d", "waters.salt_water.salinity=42 psu", "top_off.water=salt_water"];
    assert_eq!(gone(&salted), (0, 20), "another whole salinity every other day, then beyond the equation of state");
    assert_eq!(
        gone(&["change.every=7 d", "solutes.alkalinity.uptake=2 dKH/d", "solutes.alkalinity.follows_nitrogen=no"]),
        (0, 20),
        "used up"
    );
}

/// A dose may send a solute out of its band for a few hours: 300 % of it are lost in a day, so that by midnight it is back.
#[test]
fn a_dose_is_seen_before_it_has_gone_again() {
    let sets = [
        "doses.buffer.of=ammonia",
        "doses.buffer.amount=0.3 mg/L",
        "doses.buffer.every=10 d",
        "bands.ammonia=below 0.25 mg/L",
    ];
    let loaded = six(&sets);
    hold(&loaded, &uncertain(Some((0.2, 0.5)), None, None), 8, spread);
    let left =
        walk(&loaded.scenario.plan, 1, &|_| Ok::<Plan, WalkError>(loaded.scenario.plan.clone()), &|_| true, |_| {
            Ok::<(), WalkError>(())
        });
    let band = loaded.scenario.plan.bands.iter().position(|b| b.high == Some(0.25)).unwrap();
    assert!(left.unwrap()[0].left_d[band].is_some(), "it is left at a dose");
}

/// A value of which the band's edge lies between the highest at any instant and the highest on the way: it turns inside a
/// segment, and the lane sees it.
#[test]
fn a_turn_within_a_segment_is_seen() {
    let mut turns = 0;
    for sets in [
        &["doses.buffer.of=ammonia", "doses.buffer.amount=2 mg/L"][..],
        &[
            "solutes.nitrate.removal=30 %/d",
            "solutes.nitrate.start=90 mg/L",
            "solutes.ammonia=none",
            "doses.buffer=none",
            "solutes.alkalinity.uptake=0.8 dKH/d",
            "change=none",
        ],
        &["solutes.nitrate.removal=30 %/d", "solutes.nitrate.start=90 mg/L", "top_off.gap=9 L", "solutes.ammonia=none"],
        &["top_off.gap=20 L", "solutes.ammonia=none"],
    ] {
        for of in ["alkalinity", "nitrate", "salinity", "phosphate"] {
            let sets = [sets, &["run=30 d", "evaporation.rate=12 L/d"]].concat();
            let summary = brinecast::app::run(&six(&sets)).unwrap().summary;
            let span = summary.spans.iter().find(|s| s.key == of).unwrap();
            let mut rows = EveryRow { of: Some(of_key(&six(&sets).scenario.plan, of)), ..EveryRow::default() };
            let plan = six(&sets).scenario.plan;
            let plan = Plan { output_every: Some(interval(&plan)), ..plan };
            let mut simulation = Simulation::new(&plan).unwrap();
            simulation.show("", &mut rows);
            simulation.run_until(30.0, &mut rows).unwrap();
            let (low, high) = (0.5 * (span.lowest + rows.lowest), 0.5 * (span.highest + rows.highest));
            for (edge, beyond) in [
                (format!("below {high}"), span.highest > rows.highest),
                (format!("above {low}"), span.lowest < rows.lowest),
            ] {
                turns += usize::from(beyond);
                let band = format!("bands.{of}={edge} {}", span.unit);
                hold(&six(&[&sets[..], &[&*band]].concat()), &uncertain(None, None, None), 1, |_, plan| plan);
            }
        }
    }
    assert!(turns > 4, "{turns}");
}

/// To the last bit: what becomes of a member does not depend on the members beside it.
#[test]
fn the_company_changes_nothing() {
    let loaded = six(&["run=60 d"]);
    let base = &loaded.scenario.plan;
    let uncertain = uncertain(Some((0.25, 3.0)), Some(0.5), Some(0.3));
    let member = |i: usize| {
        let mut plan = spread(i, base.clone());
        plan.output_every = Some(interval(base));
        uncertain.vary(&mut plan, &mut stream(7, i as u64));
        Ok::<Plan, WalkError>(plan)
    };
    let rows = |first: usize, count: usize| {
        let mut rows = vec![Vec::new(); count];
        walk(base, count, &|i| member(first + i), &|_| true, |block| {
            for k in 0..block.rows * (base.species.len() + 1) {
                let cell = block.cell(k / (base.species.len() + 1), k % (base.species.len() + 1));
                rows.iter_mut().zip(cell).for_each(|(row, value)| row.push(value.to_bits()));
            }
            Ok::<(), WalkError>(())
        })
        .unwrap();
        rows
    };
    let together = rows(0, 20);
    for (i, own) in together.iter().enumerate() {
        assert!(rows(i, 1)[0] == *own, "member {i}");
    }
}

/// A start at half a psu puts the point of renewal halfway between two whole salinities: what rounding leaves of the
/// salinity there must not decide which plane is taken.
#[test]
fn rounding_does_not_choose_the_plane_of_the_volume() {
    let at = |psu: f64| brinecast::units::PracticalSalinity::from_psu(psu);
    let warm = brinecast::units::Temperature::from_celsius(25.0);
    let law = brinecast::model::VolumeLaw::at(brinecast::model::Basis::Mass, at(24.5), warm).unwrap();
    for point in [23.5, 25.5] {
        let renewed = [-1e-12, 0.0, 1e-12].map(|off| law.renewed(at(point + off)).unwrap());
        assert_eq!(renewed[0], renewed[1], "{point} psu");
        assert_eq!(renewed[1], renewed[2], "{point} psu");
    }
}
