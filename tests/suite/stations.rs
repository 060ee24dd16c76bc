//! Stations, stores and absences: against single runs, closed forms, brute force and a linear programme.

use brinecast::app::{AwayRequest, StationRequest, away, load_station, station};
use brinecast::engine::run;
use brinecast::model::DayToDay;
use brinecast::numerics::smallest_store;
use brinecast::sizing::{ServedTank, Station, StationOutcome, run_station};
use brinecast::study::{Demand, Uncertainty, shortage_chance, stores_needed};
use microlp::{ComparisonOp, OptimizationDirection, Problem};
use proptest::prelude::*;

use crate::support::{STILL, load, near, plain_station};

fn plenty() -> Station {
    Station { vessels: vec![(400.0, 0.5), (400.0, 0.5)], emergency_l: 50.0, ..plain_station() }
}

fn tank(sets: &[&str]) -> ServedTank {
    let text = STILL.to_owned() + "[bands]\nsalinity = \"30 to 36 psu\"\n[change]\nevery = \"7 d\"\n";
    let sets =
        [&["evaporation.rate=6 L/d", "losses.skimmate=0.2 L/d", "top_off.reservoir=25 L", "top_off.refill=3 d"], sets]
            .concat();
    ServedTank { name: "tank".into(), plan: load(&text, &sets).scenario.plan, sick: false, visit: None }
}

/// With plenty of water a served tank is the tank by itself.
#[test]
fn a_served_tank_is_the_tank_by_itself() {
    let tanks = [tank(&["run=100 d"]), tank(&["run=100 d", "waters.salt_water.salinity=30 psu", "change.every=5 d"])];
    let outcome = run_station(&plenty(), &tanks, 100.0).unwrap();
    assert!(outcome.shortages.is_empty(), "{:?}", outcome.shortages);
    for (tank, served) in tanks.iter().zip(&outcome.tanks) {
        let alone = run(&tank.plan).unwrap();
        let salinity = &alone.statistics.variables[1];
        near(served.salinity_psu.0, salinity.lowest.0, 1e-9, "lowest");
        near(served.salinity_psu.1, salinity.highest.0, 1e-9, "highest");
        near(served.changed_l, alone.tally.changed_l, 1e-9, "new water");
        near(served.top_off_l, alone.tally.top_off_l, 1e-9, "top-off");
        assert_eq!(served.changes, alone.tally.changes);
        match (served.left_at_d, alone.bands(&tank.plan)[0].left_at_d) {
            (Some(a), Some(b)) => near(a, b, 1e-9, "band left"),
            (a, b) => assert_eq!(a, b),
        }
    }
}

fn closes(outcome: &StationOutcome) {
    let b = &outcome.books;
    near(b.start_kg + b.made_kg, b.top_off_kg + b.batches_kg + b.trim_kg + b.end_kg, 1e-11, "fresh water");
    near(b.salt_in_kg, b.salt_out_kg + b.salt_end_kg, 1e-11, "salt");
}

/// A purifier that stands still: refills run short, changes wait and shrink, and the tank shows it.
#[test]
fn when_water_runs_short_the_tank_shows_it() {
    let tanks = [tank(&["run=60 d"]), tank(&["run=60 d"])];
    let mut dry = plenty();
    dry.outages = vec![(0.0, 60.0)];
    (dry.fresh_l, dry.restart_l) = (60.0, 60.0);
    dry.vessels = vec![(120.0, 0.5)];
    dry.emergency_l = 20.0;
    let outcome = run_station(&dry, &tanks, 60.0).unwrap();
    closes(&outcome);
    assert!(outcome.shortages.iter().any(|s| !s.change), "a refill runs short");
    assert!(outcome.shortages.iter().any(|s| s.change && s.missing_l > 0.0), "a change shrinks");
    // 100 L of the vessel may be drawn: two changes of 40 L, and half of a third.
    let drawn: f64 = outcome.tanks.iter().map(|t| t.changed_l).sum();
    near(drawn, 100.0, 1e-9, "all but the emergency share");
    assert!(
        outcome.tanks[0].salinity_psu.1 > 36.0,
        "no top-off thickens the tank: {:?}",
        outcome.tanks[0].salinity_psu
    );
    assert!(outcome.tanks[0].left_at_d.is_some());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, rng_seed: proptest::test_runner::RngSeed::Fixed(7), ..ProptestConfig::default() })]

    /// Whatever the station: books close, no vessel is used twice at a time, nothing is negative.
    #[test]
    fn a_vessel_is_never_used_twice_at_a_time(
        made in 10.0..400.0f64,
        hours in 1.0..24.0f64,
        fresh in 20.0..600.0f64,
        vessels in prop::collection::vec((40.0..300.0f64, 0.1..3.0f64), 1..4),
        outage in 0.0..20.0f64,
        count in 1usize..5,
        share in 5.0..40.0f64,
        every in 2u32..9,
    ) {
        let tanks: Vec<ServedTank> = (0..count)
            .map(|k| tank(&[&format!("change.amount={share} %"), &format!("change.every={} d", every + u32::try_from(k).unwrap())]))
            .collect();
        let station = Station {
            made_l_per_d: vec![made],
            hours_per_d: hours,
            fresh_l: fresh,
            restart_l: fresh,
            emergency_l: 0.3 * vessels.iter().map(|v| v.0).sum::<f64>(),
            vessels,
            outages: vec![(10.0, outage)],
            ..plenty()
        };
        let outcome = run_station(&station, &tanks, 40.0).unwrap();
        closes(&outcome);
        prop_assert!(outcome.lowest_fresh_l >= -1e-9);
        for vessel in 0..station.vessels.len() {
            let mut uses: Vec<_> = outcome.uses.iter().filter(|u| u.vessel == vessel).collect();
            uses.sort_by(|a, b| a.begin.total_cmp(&b.begin));
            for pair in uses.windows(2) {
                prop_assert!(pair[1].begin >= pair[0].end - 1e-9, "{pair:?}");
            }
        }
    }

    /// The smallest cyclic store, against a linear programme solved by a general library.
    #[test]
    fn a_linear_programme_finds_the_same_store(
        demand in prop::collection::vec(0.0..20.0f64, 3..15),
        more in 1.0..1.5f64,
    ) {
        let n = demand.len();
        let mean = demand.iter().sum::<f64>() / n as f64;
        let inflow: Vec<f64> = (0..n).map(|i| if i % 3 == 2 { 0.0 } else { mean * more * n as f64 / (n - n / 3) as f64 }).collect();
        let mut lp = Problem::new(OptimizationDirection::Minimize);
        let size = lp.add_var(1.0, (0.0, f64::INFINITY));
        let levels: Vec<_> = (0..n).map(|_| lp.add_var(0.0, (0.0, f64::INFINITY))).collect();
        for t in 0..n {
            lp.add_constraint([(levels[t], 1.0), (size, -1.0)], ComparisonOp::Le, 0.0);
            // level after = level before + inflow - demand - what runs over
            let next = levels[(t + 1) % n];
            lp.add_constraint([(next, 1.0), (levels[t], -1.0)], ComparisonOp::Le, inflow[t] - demand[t]);
        }
        let want = lp.solve().unwrap().objective();
        let got = smallest_store(&demand, &inflow);
        prop_assert!((got - want).abs() < 1e-6 * (1.0 + want), "{got} want {want}");
    }
}

fn demand() -> Demand {
    Demand {
        top_off_l: vec![20.0; 90],
        unsure_l: Vec::new(),
        changes_l: (0..90).map(|d| if d % 7 == 6 { vec![60.0, 60.0] } else { Vec::new() }).collect(),
        made_l_per_d: vec![45.0; 90],
        day_to_day: DayToDay { cv: 0.25, persistence_d: 3.0 },
        missed: 0.1,
        outage: (0.01, 3.0),
        emergency: (1.0 / 365.0, 150.0),
    }
}

/// The curve of shortage falls with size, is the sequent peak where nothing is uncertain, and each point is what
/// simulating that one size comes to.
#[test]
fn the_curve_of_shortage_is_that_of_each_size() {
    let mut sure = demand();
    (sure.day_to_day.cv, sure.missed, sure.outage.0, sure.emergency.0) = (0.0, 0.0, 0.0, 0.0);
    let needed = stores_needed(&sure, 20, 1);
    assert!(needed.iter().all(|n| *n == needed[0]));
    // 120 L every seventh day, 25 L left over a day: 120 + 20 - 45 = 95.
    near(needed[0], 95.0, 1e-12, "nothing uncertain");
    // A tank whose rate is not known: what is needed by chance is that of the quantile of its rate. 20 L more a day in the middle, a
    // deviation of 0.3: 95 + 7 x 20 (e^(0.3 z) - 1) where a week's balance stays above nothing, at z = 1.2816 for nine of ten.
    let mut unsure = sure.clone();
    (unsure.top_off_l, unsure.unsure_l) = (vec![0.0; 90], vec![(vec![20.0; 90], 0.3)]);
    let needed = stores_needed(&unsure, 20_000, 1);
    let rate = 20.0 * (0.3f64 * 0.5).exp();
    let one =
        smallest_store(&(0..90).map(|d| rate + if d % 7 == 6 { 120.0 } else { 0.0 }).collect::<Vec<_>>(), &[45.0; 90]);
    near(brinecast::numerics::quantile(&needed, 0.691_462), one, 0.02, "at half a deviation of the rate");
    let needed = stores_needed(&demand(), 4000, 1);
    let chances: Vec<f64> = (0..40).map(|k| shortage_chance(&needed, 20.0 * f64::from(k))).collect();
    assert!(chances.windows(2).all(|w| w[1] <= w[0]) && chances[0] == 1.0 && chances[39] < 0.01);
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    assert_eq!(needed, pool.install(|| stores_needed(&demand(), 4000, 1)), "the number of threads shows");
    // Outages alone: three days without 45 L, unless they end in a week's surplus, need up to 135 L more.
    let mut outages = sure.clone();
    outages.outage = (1.0, 90.0);
    near(stores_needed(&outages, 5, 1)[0], 20.0 * 90.0 + 12.0 * 120.0, 1e-9, "never made");
}

#[test]
fn the_built_in_station_is_run_and_its_files_are_whole() {
    let loaded = load_station(None, &[]).unwrap();
    let request = StationRequest {
        accepted: 0.05,
        members: 500,
        seed: 1,
        missed: 0.05,
        without_supply_d: 7.0,
        round_day: Some(5),
    };
    let answer = station(&loaded, &request).unwrap().answer;
    assert_eq!(answer.tanks.len(), 14);
    assert!(answer.residual < 1e-11, "{}", answer.residual);
    // Saturday: 12 tanks of 250 L, 15 % each; salt by mass closes to the tanks' 36.2 psu.
    let display: Vec<_> = answer.round.stops.iter().filter(|s| s.name.starts_with("display")).collect();
    assert_eq!((display.len(), answer.round.day.as_str()), (12, "2026-03-07"));
    for stop in display {
        near(stop.out_l, 37.5, 1e-12, "out");
        near(stop.mother_l * 36.5, stop.out_l * 36.2, 2e-3, "salt");
        near(stop.mother_l + stop.trim_l, stop.out_l, 2e-3, "volume");
    }
    // 12 x 37.5 L a week and two half changes of 110 L every two days at 12 psu, over 60 d, and 125 L held back; 41.8 g
    // of mix a litre of mother batch (1.0245 kg/L, 36.67 g/kg, nine tenths salt).
    let weekly = 12.0 * 37.5 * 36.2 / 36.5;
    let holding = 2.0 * 55.0 * 30.0 * 12.0 / 36.5;
    let most = (weekly * 9.0 + holding + 125.0) * 0.0418;
    assert!((answer.salt_store.needed_kg - most).abs() < 0.08 * most, "{:?} {most}", answer.salt_store);
    let litres = answer.round.salt_water_l;
    assert!(
        f64::from(answer.round.containers) >= litres / 20.0 && (answer.round.container_kg - 20.0 * 1.0245).abs() < 0.02
    );
    // 500 L of fresh water in a plain vessel weigh 4.9 kN.
    assert!(answer.sizing.iter().filter_map(|s| s.floor_kpa).all(|k| (3.0..20.0).contains(&k)));
    for (set, piece) in [
        ("station.vessels.left.volume=-3 L", "greater than zero"),
        ("station.vesels.x.volume=3 L", "nearest: `vessels`"),
        ("station.emergency=5000 L", "held back for an emergency"),
        ("station.mother_salinity=30 psu", "too weak for water of 36.2 psu"),
        ("tanks.display.scenario=no-such", "no built-in scenario"),
        ("tanks.display.count=0", "whole number from 1"),
        ("station.purifier.feed=60 C", "4 to 35 C"),
    ] {
        let message = match load_station(None, &[set.to_owned()]) {
            Err(error) => error.to_string(),
            Ok(loaded) => station(&loaded, &request).map(|_| ()).unwrap_err().to_string(),
        };
        assert!(message.contains(piece), "{set}: {message}");
    }
}

/// Nothing uncertain: a reservoir of 24 L lasts 4 d at 6 L/d, then S V/(V - e t) reaches 36 after 11.1 L; the fall
/// for a stuck valve is S - S V/(V + R), 1 psu at 11.8 L.
#[test]
fn an_absence_without_chance_is_the_closed_form() {
    let text = STILL.to_owned() + "[bands]\nsalinity = \"34 to 36 psu\"\n";
    let loaded = load(&text, &["evaporation.rate=6 L/d", "top_off.reservoir=24 L", "tank.rim=420 L"]);
    let request = AwayRequest {
        days: 14.0,
        uncertainty: Uncertainty {
            day_to_day: Some(DayToDay { cv: 0.0, persistence_d: 1.0 }),
            ..Uncertainty::default()
        },
        members: 20,
        seed: 1,
    };
    let answer = away(&loaded, &request).unwrap().answer;
    let event = |what: &str| answer.events.iter().find(|e| e.what.contains(what)).unwrap();
    near(event("reservoir").sure_d[2].unwrap(), 4.0, 1e-9, "dry");
    near(event("salinity").sure_d[0].unwrap(), 4.0 + 400.0 / 36.0 / 6.0, 1e-9, "band");
    assert_eq!(event("salinity").chance, 1.0);
    for line in &answer.reservoirs {
        near(line.fall_psu, 35.0 - 35.0 * 400.0 / (400.0 + line.litres), 1e-9, "fall");
        near(line.spill_l, (line.litres - 20.0).max(0.0), 1e-9, "spill");
        if let Some(lasts) = line.lasts_d {
            near(lasts, line.litres / 6.0, 1e-9, "days");
        }
    }
    // R <= V d/(S - d): 11.765 L for 1 psu; fourteen days need 84 L, so two stages. The timer lets 9 L through a day and
    // 6 L evaporate, so the vessel holds 3 L less for the same fall.
    assert!(answer.recommended.starts_with("use two stages: a vessel of 8.76 L"), "{}", answer.recommended);
    assert!(answer.recommended.contains("lowers salinity by 1 psu on the first day"), "{}", answer.recommended);
    assert!(answer.recommended.contains("a store of 84 L"), "{}", answer.recommended);
    assert!(answer.remedies[0].chance <= answer.remedies.last().unwrap().chance);
}

/// What is not known of the tank is drawn anew for every member: of two rates of evaporation one empties the reservoir in 6 d
/// and the other in 3 d, each in half of the members; with one rate and two starts the salinity leaves its band from either.
#[test]
fn an_absence_takes_what_is_uncertain() {
    let text = STILL.to_owned() + "[bands]\nsalinity = \"34 to 36 psu\"\n";
    let base = ["evaporation.rate=6 L/d", "top_off.reservoir=24 L", "tank.rim=420 L"];
    let ask = |spread: &str| {
        let loaded = load(&text, &base);
        let uncertainty = Uncertainty {
            spreads: vec![brinecast::study::Spread::parse(spread).unwrap()],
            day_to_day: Some(DayToDay { cv: 0.0, persistence_d: 1.0 }),
            ..Uncertainty::default()
        };
        away(&loaded, &AwayRequest { days: 5.0, uncertainty, members: 400, seed: 1 }).unwrap().answer
    };
    let answer = ask("evaporation.rate=one-of(4 L/d, 8 L/d)");
    let dry = &answer.events[0];
    assert!((dry.chance - 0.5).abs() < 0.1, "{}", dry.chance);
    near(dry.sure_d[1].unwrap(), 3.0, 1e-9, "dry at the higher rate");
    near(dry.sure_d[0].unwrap_or(6.0), if dry.chance > 0.5 { 3.0 } else { 6.0 }, 1e-9, "dry at the lower");
    assert!(answer.uncertain.iter().any(|line| line.contains("one-of")), "{:?}", answer.uncertain);
    // 24 L hold for 4 d; a start of 33.9 psu is outside at once, one of 35 is not within the 5 d: 35 × 400/394 = 35.53.
    let answer = ask("tank.salinity=one-of(33.9 psu, 35 psu)");
    let band = answer.events.iter().find(|e| e.what.contains("salinity")).unwrap();
    assert!((band.chance - 0.5).abs() < 0.1 && band.by_day[0] == band.chance, "{band:?}");
    // A system that may hold more holds as much more at its rim: no member is refused.
    let answer = ask("tank.volume=normal(400 L, 20 L)");
    assert_eq!(answer.members, 400);
}

/// A vessel a little larger than a change is filled again on top of what is left; it served once and stood idle.
#[test]
fn a_remainder_does_not_block_its_vessel() {
    let served = tank(&["run=182 d", "change.amount=20 %", "change.every=14 d"]);
    for litres in [80.0, 81.0, 100.0, 130.0, 160.0, 200.0] {
        let station =
            Station { vessels: vec![(litres + 1.0, 0.5)], emergency_l: 0.0, made_l_per_d: vec![20.0], ..plenty() };
        let outcome = run_station(&station, std::slice::from_ref(&served), 182.0).unwrap();
        closes(&outcome);
        let missed: f64 = outcome.shortages.iter().map(|s| s.missing_l).sum();
        assert_eq!((outcome.tanks[0].changes, missed), (13, 0.0), "{litres} L");
        assert!((outcome.tanks[0].changed_l - 13.0 * 80.0).abs() < 1.0, "{litres} L: {}", outcome.tanks[0].changed_l);
    }
}

/// A station is a file like any other: it is begun, checked and described, and where one tank is asked for that is said.
#[test]
fn a_station_is_begun_checked_and_described() {
    let folder = tempfile::tempdir().unwrap();
    let at = |args: &[&str]| crate::cli::brinecast(folder.path(), args);
    let fine = |args: &[&str]| {
        let output = at(args);
        assert!(output.status.success(), "{}", crate::cli::stderr(&output));
        crate::cli::stdout(&output)
    };
    for (name, more) in [("shop", &[][..]), ("shop-us", &["--units", "us"])] {
        fine(&[&["new", name, "--station"], more].concat());
        let file = format!("{name}.toml");
        assert!(fine(&["check", &file]).contains("fine, a station of 2 tanks"));
        fine(&["station", &file, "--members", "50", "-q"]);
        for command in ["run", "explore", "compare"] {
            let said = crate::cli::stderr(&at(&[command, &file]));
            assert!(said.contains("is the file of a station") && said.contains("brinecast station"), "{said}");
        }
    }
    assert!(fine(&["check", "corner-shop"]).contains("a station of 14 tanks"));
    let wrong = at(&["check", "shop.toml", "--set", "station.patience=soon"]);
    assert!(!wrong.status.success() && crate::cli::stderr(&wrong).contains("station.patience"));
    let schema: serde_json::Value = serde_json::from_str(&fine(&["schema", "--station"])).unwrap();
    let has = |path: &str| schema.pointer(path).is_some();
    assert!(has("/properties/station/properties/purifier/properties/rated"), "{schema}");
    assert!(has("/properties/station/properties/vessels/additionalProperties/properties/ready_after"), "{schema}");
    assert!(has("/properties/tanks/additionalProperties/properties/scenario"), "{schema}");
}
