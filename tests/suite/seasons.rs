//! Regimes that go by the time of the year: what they settle to.

use brinecast::engine::{Nothing, Simulation, Statistics, settle};
use brinecast::model::Variable;
use brinecast::units::YEAR_D;

use crate::support::{load, near};

/// A tank of 100 L whose top-off water brings 10 mg/L of a solute that is removed at 2 % a day.
const FED_BY_TOP_OFF: &str = "format = 1\nbasis = \"ideal\"\nstart = \"2026-01-01\"\n[tank]\nvolume = \"100 L\"\n\
    [evaporation]\nrate = \"1 L/d\"\nswing = \"40 %\"\npeak = \"2026-04-11\"\n[top_off]\nby = \"float\"\n\
    [solutes.dye]\nunit = \"mg/L\"\nstart = \"0 mg/L\"\nremoval = \"2 %/d\"\n\
    [waters.purified]\nsalinity = \"0 psu\"\ndye = \"10 mg/L\"\n";

/// The closed form of `dC/dt = (E/V) c (1 + s cos(w (t - p))) - k C`: mean `E c/(V k)`, amplitude
/// `s E c/(V sqrt(k2 + w2))`, the peak `atan(w/k)/w` days after that of the season (a first-order lag, as in any textbook
/// of linear systems). The engine's evaporation is the mean of each day, which is a stair of that cosine.
#[test]
fn a_season_comes_through_as_a_lagged_sine() {
    let loaded = load(FED_BY_TOP_OFF, &[]);
    let settled = settle(&loaded.scenario.plan).unwrap();
    let (k, w) = (0.02, std::f64::consts::TAU / YEAR_D);
    let (mean, amplitude) = (0.1 / k, 0.4 * 0.1 / (k * k + w * w).sqrt());
    let dye = &settled.solutes[0];
    assert!(settled.seasonal);
    near(dye.mean, mean, 1e-4, "mean");
    near(dye.peak, mean + amplitude, 1e-4, "peak");
    near(dye.trough, mean - amplitude, 1e-4, "trough");
    let lag = (w / k).atan() / w;
    assert!((dye.peak_d - (100.0 + lag)).abs() < 1.0, "peak on day {} for {}", dye.peak_d, 100.0 + lag);
    // Salt neither comes nor goes: it stays what the tank begins with.
    near(settled.salinity_psu.mean, 35.0, 1e-9, "salinity");
    // Half the way takes ln 2/k.
    near(settled.half_life_d.unwrap(), std::f64::consts::LN_2 / k, 0.02, "half-life");
}

/// Whatever a tank starts with, the settled year is the same, and it is the year that a long run comes to.
#[test]
fn the_settled_year_knows_nothing_of_the_start() {
    for scenario in ["mixed-reef", "two-part-dosing", "heavy-fish-load"] {
        let plan = |sets: &[&str]| {
            let sets: Vec<String> = sets.iter().map(ToString::to_string).collect();
            brinecast::app::load(scenario, &sets).unwrap().scenario.plan
        };
        let season = "evaporation.swing=40 %";
        let one = settle(&plan(&[season])).unwrap();
        let mut weak = plan(&[season]);
        weak.tank.salinity = brinecast::units::PracticalSalinity::from_psu(31.0);
        let other = settle(&weak).unwrap();
        near(one.salinity_psu.mean, other.salinity_psu.mean, 2e-4, "mean");
        near(one.salinity_psu.peak, other.salinity_psu.peak, 2e-4, "peak");

        let plan = plan(&[season]);
        let mut simulation = Simulation::new(&plan).unwrap();
        simulation.run_until(20.0 * YEAR_D, &mut Nothing).unwrap();
        let mut statistics = Statistics::new(plan.species.len(), &[]);
        simulation.show("", &mut statistics);
        simulation.run_until(21.0 * YEAR_D, &mut statistics).unwrap();
        let salinity = statistics.variable(Variable::Salinity).unwrap();
        // Weekly acts fall on other days of the year each year, which moves the extremes a little.
        near(one.salinity_psu.peak, salinity.highest.0, 1e-3, "peak of the long run");
        near(one.salinity_psu.trough, salinity.lowest.0, 1e-3, "trough of the long run");
    }
}

/// A season is no reason to be without advice.
#[test]
fn a_seasonal_tank_gets_advice() {
    let plan = brinecast::app::load("mixed-reef", &["evaporation.swing=40 %".into()]).unwrap();
    let summary = brinecast::app::run(&plan).unwrap().summary;
    assert!(summary.settled.is_some_and(|s| s.seasonal));
    let advice = summary.warnings.iter().find(|w| w.code == "settles-outside").unwrap();
    assert!(advice.advice.contains("skimmer drier"), "{}", advice.advice);
}

/// A reef with a holiday in it.
const HOLIDAY: &str = "format = 1\nrun = \"120 d\"\n[tank]\nvolume = \"300 L\"\n[evaporation]\nrate = \"4 L/d\"\n[top_off]\nby = \"float\"\n\
    reservoir = \"60 L\"\nrefill = \"10 d\"\n[losses]\nskimmate = \"0.4 L/d\"\n[solutes.nitrate]\nstart = \"5 mg/L\"\nload = \"0.5 mg/L/d\"\n\
    removal = \"1 %/d\"\n[change]\namount = \"12 %\"\nevery = \"7 d\"\n";

const AWAY: [&str; 4] =
    ["evaporation.rate=7 L/d", "change.every=9 d", "losses.skimmate=0 L/d", "solutes.nitrate.load=0.1 mg/L/d"];

/// A period equals the run chained by hand: its begin and its end are exact, whatever lies between the acts.
#[test]
fn a_period_is_what_runs_chained_by_hand_give() {
    let usual = load(HOLIDAY, &[]).scenario.plan;
    let other = load(HOLIDAY, &AWAY).scenario.plan;
    for (from, to) in [(30.0, 44.0), (35.0, 63.0), (33.3, 41.7)] {
        let text = format!("{HOLIDAY}[periods.holiday]\nfrom = \"{from} d\"\nto = \"{to} d\"\n");
        let sets = AWAY.map(|set| format!("periods.holiday.{set}"));
        let sets: Vec<&str> = sets.iter().map(String::as_str).collect();
        let plan = load(&text, &sets).scenario.plan;
        let mut whole = Simulation::new(&plan).unwrap();
        whole.run_until(120.0, &mut Nothing).unwrap();

        // The act of the instant itself is that of what begins: up to a hair before, then on from there.
        let hair = 1e-6;
        let mut part = Simulation::new(&usual).unwrap();
        part.run_until(from - hair, &mut Nothing).unwrap();
        let mut part2 = Simulation::at(&other, from - hair, part.amounts().clone(), part.reservoir_l()).unwrap();
        part2.run_until(to - hair, &mut Nothing).unwrap();
        let mut part3 = Simulation::at(&usual, to - hair, part2.amounts().clone(), part2.reservoir_l()).unwrap();
        part3.run_until(120.0, &mut Nothing).unwrap();
        for (a, b) in whole.amounts().row().iter().zip(part3.amounts().row()) {
            near(*a, *b, 2e-8, &format!("{from} to {to}"));
        }
        let litres = part.tally().salt_water_l + part2.tally().salt_water_l + part3.tally().salt_water_l;
        near(whole.tally().salt_water_l, litres, 1e-9, "salt water");
        // It stays true in a run with books, and the books close.
        let outcome = brinecast::engine::run(&plan).unwrap();
        assert!(outcome.ledger.relative_residual() < 1e-12);
        assert_eq!(outcome.events.iter().filter(|e| e.event == "period").count(), 2);
    }
}

/// A period of every year comes every year; the settled year knows it, and gives the dates.
#[test]
fn a_period_of_every_year_is_part_of_the_settled_year() {
    let text = format!("{HOLIDAY}[periods.summer]\nfrom = \"06-01\"\nto = \"09-01\"\nevaporation.rate = \"5.5 L/d\"\n");
    let with = |text: &str, sets: &[&str]| {
        let mut all = vec!["start=2026-01-01", "top_off.reservoir=none"];
        all.retain(|s| !s.contains("none"));
        all.extend(sets);
        load(text, &all).scenario.plan
    };
    let plan = with(&text, &["solutes.nitrate.load=0.5 mg/L/d"]);
    let days: Vec<(f64, f64)> = plan.periods[0].rounds(900.0);
    assert_eq!(days.len(), 3, "{days:?}");
    near(days[0].0, 151.0, 1e-12, "1 June");
    near(days[1].0 - days[0].0, YEAR_D, 1e-12, "a year later");
    let settled = settle(&plan).unwrap();
    assert!(settled.seasonal);
    // Loads that rest in winter: the nitrate of the summer is that of the summer's load all year round, near enough.
    let resting =
        format!("{HOLIDAY}[periods.winter]\nfrom = \"10-01\"\nto = \"04-01\"\nsolutes.nitrate.load = \"0 mg/L/d\"\n");
    let resting = settle(&with(&resting, &[])).unwrap();
    let all_year = settle(&with(HOLIDAY, &[])).unwrap();
    let none = settle(&with(HOLIDAY, &["solutes.nitrate.load=0 mg/L/d"])).unwrap();
    near(resting.solutes[0].peak, all_year.solutes[0].peak, 0.02, "the end of summer");
    near(resting.solutes[0].trough - none.solutes[0].trough, 0.0, 200.0, "the end of winter");
    // By its own date: the lowest is at the end of March, the highest at the end of September.
    assert!((80.0..=100.0).contains(&resting.solutes[0].trough_d), "{}", resting.solutes[0].trough_d);
    assert!((260.0..=280.0).contains(&resting.solutes[0].peak_d), "{}", resting.solutes[0].peak_d);
}

/// A fault of the file is the fault that the library puts into a plan by hand; the run tells of it, and shades it.
#[test]
fn a_fault_of_the_file_is_traced() {
    use brinecast::faults::{all, put};
    let text = format!("{HOLIDAY}[faults.valve]\nfault = \"top-off-stuck-shut\"\nfrom = \"40 d\"\nto = \"44 d\"\n");
    let loaded = load(&text, &[]);
    let mut by_hand = load(HOLIDAY, &[]).scenario.plan;
    let fault = all(1.0).into_iter().find(|f| f.key() == "top-off-stuck-shut").unwrap();
    put(&fault, &mut by_hand, 40.0, 44.0);
    let (one, other) = (brinecast::app::run(&loaded).unwrap(), brinecast::engine::run(&by_hand).unwrap());
    assert_eq!(one.outcome.trace.salinity_psu, other.trace.salinity_psu);
    let told = &one.summary.meanwhile[0];
    assert_eq!((told.kind, told.from_d, told.to_d), ("fault", 40.0, Some(44.0)));
    let brinecast::chart::Picture::Series(series) = &one.pictures[0].1 else { panic!("salinity is a series") };
    assert_eq!(series.spans, [(40.0, 44.0)]);
    // What it settles to is without the fault.
    let usual = settle(&load(HOLIDAY, &[]).scenario.plan).unwrap();
    assert_eq!(settle(&loaded.scenario.plan).unwrap().salinity_psu, usual.salinity_psu);
    // A sweep of another key keeps the fault.
    let varying = loaded.varying(["change.amount"]);
    assert_eq!(varying.plan(&["change.amount=20 %".into()]).unwrap().disturbances.len(), 1);
}

/// The weather and the missed days of an ensemble reach into a period.
#[test]
fn a_period_is_as_uncertain_as_the_rest() {
    use brinecast::model::Evaporation;
    let text = format!("{HOLIDAY}[periods.holiday]\nfrom = \"0 d\"\nto = \"120 d\"\nevaporation.rate = \"8 L/d\"\n");
    let mut plan = load(&text, &[]).scenario.plan;
    let variation = brinecast::model::DayToDay { cv: 0.3, persistence_d: 3.0 };
    let mut rng = brinecast::study::stream(7, 0);
    brinecast::study::vary_evaporation(&mut plan, variation, &mut rng);
    let (Evaporation::Daily(usual), Evaporation::Daily(holiday)) =
        (&plan.regime.evaporation, &plan.periods[0].regime.evaporation)
    else {
        panic!("both vary")
    };
    for (a, b) in usual.iter().zip(holiday.iter()) {
        near(2.0 * a, *b, 1e-12, "the same weather");
    }
}

/// A float of two levels: the level falls by the gap in `g/E`, and rises in `g/(r - E)` (a pump of flow r against a loss E).
#[test]
fn a_float_of_two_levels_starts_and_stops_when_it_should() {
    let text = "format = 1\nbasis = \"ideal\"\nrun = \"100 d\"\noutput = \"events\"\n[tank]\nvolume = \"300 L\"\n\
                [evaporation]\nrate = \"6 L/d\"\n[top_off]\nby = \"float\"\npump = \"48 L/d\"\ngap = \"1.5 L\"\n";
    let plan = load(text, &[]).scenario.plan;
    let outcome = brinecast::engine::run(&plan).unwrap();
    let (fall, rise) = (1.5_f64 / 6.0, 1.5 / 42.0);
    let starts = ((100.0 - fall) / (fall + rise)).floor() + 1.0;
    near(outcome.tally.pump_starts as f64, starts, 1e-12, "starts");
    let volume = &outcome.statistics.variables[0];
    near(volume.lowest.0, 298.5, 1e-9, "lowest");
    near(volume.highest.0, 300.0, 1e-9, "highest");
    // The pump runs a share E/r of the time, but for the last, unfinished fall.
    near(outcome.tally.pump_d, 100.0 * 6.0 / 48.0, 3e-3, "time that it runs");
    near(outcome.tally.top_off_l, 48.0 * outcome.tally.pump_d, 1e-12, "what it brings");
    assert!(outcome.ledger.relative_residual() < 1e-12);
    // Salinity goes with the level: 35 psu at the mark, 35 x 300/298.5 at the lowest.
    let salinity = outcome.statistics.variable(Variable::Salinity).unwrap();
    near(salinity.highest.0 / salinity.lowest.0, 300.0 / 298.5, 1e-4, "salinity");
    // A hair of a gap starts all the time, and that is said.
    let busy = load(text, &["top_off.gap=10 mL"]);
    let summary = brinecast::app::run(&busy).unwrap().summary;
    assert!(summary.warnings.iter().any(|w| w.code == "pump-starts"), "{:?}", summary.warnings);
    // With changes and losses it settles, as one that holds the middle.
    let reef = load(HOLIDAY, &["top_off.gap=2 L"]).scenario.plan;
    let middle = load(HOLIDAY, &["top_off.level_offset=-1 L"]).scenario.plan;
    assert_eq!(settle(&reef).unwrap().salinity_psu.mean, settle(&middle).unwrap().salinity_psu.mean);
    let long = |plan: &brinecast::model::Plan| {
        let mut simulation = Simulation::new(plan).unwrap();
        simulation.run_until(700.0, &mut Nothing).unwrap();
        let mut statistics = Statistics::new(plan.species.len(), &[]);
        simulation.show("", &mut statistics);
        simulation.run_until(1400.0, &mut statistics).unwrap();
        statistics
    };
    let settled = settle(&reef).unwrap().salinity_psu;
    near(long(&reef).mean(1), settled.mean, 3e-4, "a long run");
    // The swing of the float is in the extremes.
    let salinity = long(&reef).variable(Variable::Salinity).unwrap().clone();
    near(salinity.highest.0, settled.peak, 1e-3, "highest of a long run");
    near(salinity.lowest.0, settled.trough, 1e-3, "lowest of a long run");
    assert!(settled.peak - settled.trough > 35.0 * 2.0 / 300.0);
}

/// A float goes with the level whether or not its pump finds water: filled to the mark by a change, it waits for the lower level
/// again, though its pump has run dry on the way up. 12 L are used up on the fourth day, the change is on the ninth, the reservoir is
/// filled on the tenth.
#[test]
fn a_float_of_two_levels_is_content_with_a_change_while_its_pump_is_dry() {
    let text = "format = 1\nbasis = \"ideal\"\nrun = \"10.5 d\"\noutput = \"0.5 d\"\n[tank]\nvolume = \"300 L\"\n\
                [evaporation]\nrate = \"6 L/d\"\n[top_off]\nby = \"float\"\npump = \"200 L/h\"\ngap = \"10 L\"\n\
                reservoir = \"12 L\"\nrefill = \"10 d\"\n[change]\namount = \"1 %\"\nevery = \"9 d\"\nfill = \"mark\"\n";
    let trace = brinecast::engine::run(&load(text, &[]).scenario.plan).unwrap().trace;
    let last_at = |day: f64| trace.volume_l[trace.time_d.iter().rposition(|t| *t == day).unwrap()];
    near(last_at(9.0), 300.0, 1e-12, "after the change");
    near(last_at(10.5), 300.0 - 1.5 * 6.0, 1e-12, "half a day after the reservoir was filled");
}

/// A solute that comes in a period alone, where the usual regime has none of it and the tank begins with none, settles all
/// the same: what two tanks share from the start must not pass for settled. The mean of the closed form is load x share of
/// the year/k.
#[test]
fn what_comes_in_a_period_alone_settles_too() {
    let text = "format = 1\nbasis = \"ideal\"\nstart = \"2026-01-01\"\n[tank]\nvolume = \"100 L\"\n[evaporation]\nrate = \"1 L/d\"\n\
                [top_off]\nby = \"float\"\n[solutes.dye]\nunit = \"mg/L\"\nstart = \"0 mg/L\"\nremoval = \"0.1 %/d\"\n\
                [periods.summer]\nfrom = \"06-01\"\nto = \"09-01\"\nsolutes.dye.load = \"1 mg/L/d\"\n";
    let settled = settle(&load(text, &[]).scenario.plan).unwrap();
    near(settled.solutes[0].mean, 1.0 * 92.0 / YEAR_D / 0.001, 1e-3, "mean");
    near(settled.half_life_d.unwrap(), std::f64::consts::LN_2 / 0.001, 1e-3, "half-life");
    // Without anything that takes it out there is no such year, and the answer says why.
    let never = settle(&load(text, &["solutes.dye.removal=0 %/d"]).scenario.plan);
    assert!(never.is_err(), "{never:?}");
}

/// A run that goes on tells only of what falls into it.
#[test]
fn what_is_over_is_not_told_again() {
    let text = format!(
        "{HOLIDAY}[faults.early]\nfault = \"double-feed\"\nfrom = \"8 d\"\nto = \"16 d\"\n\
         [faults.late]\nfault = \"double-feed\"\nfrom = \"50 d\"\nto = \"90 d\"\n"
    );
    let plan = load(&text, &["run=60 d"]);
    let state = brinecast::engine::run(&plan.scenario.plan).unwrap().state;
    let on = brinecast::app::run_on(&load(&text, &[]), &state).unwrap().summary;
    assert_eq!(on.meanwhile.len(), 1, "{:?}", on.meanwhile);
    assert_eq!((on.meanwhile[0].from_d, on.meanwhile[0].to_d), (60.0, Some(90.0)));
}

/// The calendar holds the changes that a run does, in periods too, and buys their salt: against the events of the engine.
#[test]
fn the_calendar_of_a_plan_is_what_the_run_does() {
    let holiday = ["periods.away.from=33 d", "periods.away.to=50 d", "periods.away.change.every=5 d"];
    let none = ["periods.away.from=33 d", "periods.away.to=50 d", "periods.away.change=none"];
    let cases: [(&str, &[&str]); 5] = [
        ("mixed-reef", &[]),
        ("mixed-reef", &holiday),
        ("nano-by-hand", &none),
        ("two-part-dosing", &holiday),
        ("dry-winter", &[]),
    ];
    for (scenario, sets) in cases {
        let sets: Vec<String> = sets.iter().map(|s| (*s).to_owned()).chain(["run=300 d".into()]).collect();
        let loaded = brinecast::app::load(scenario, &sets).unwrap();
        let request = brinecast::app::PlanRequest {
            from: None,
            days: 300.0,
            zone: None,
            reminder: brinecast::units::Duration::from_days(0.0),
            purifier: None,
            heater: None,
            room: brinecast::units::Temperature::from_celsius(20.0),
        };
        let plan = brinecast::app::plan(&loaded, &request).unwrap().plan;
        let outcome = brinecast::engine::run(&loaded.scenario.plan).unwrap();
        // What falls on the last midnight is of the next day.
        let done: Vec<f64> = outcome
            .events
            .iter()
            .filter(|e| e.event == "change" && e.time_d < 300.0 - 1e-6)
            .map(|e| e.time_d)
            .collect();
        let planned = plan.items.iter().filter(|i| i.kind == "change").count();
        assert_eq!(planned, done.len(), "{scenario} {sets:?}");
        assert_eq!(plan.shopping.iter().map(|m| m.changes).sum::<usize>(), done.len(), "{scenario} {sets:?}");
    }
}
