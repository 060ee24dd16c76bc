//! At the limits: the largest that is allowed is answered, the next larger is refused with its reason. Inputs are
//! invented; times and memory of the release build stand in DEVELOPERS.md.

use std::fmt::Write as _;
use std::fs;

use brinecast::app::{load_station, load_text};
use brinecast::engine::settle;

use crate::support::{load, near, simulate};

/// A tank whose salinity and nitrate repeat from week to week.
const TANK: &str = r#"
format = 1
output = "events"
[tank]
volume = "400 L"
[evaporation]
rate = "6 L/d"
[solutes.nitrate]
start = "8 mg/L"
load = "0.4 mg/L/d"
[change]
every = "7 d"
"#;

fn refusal(text: &str) -> String {
    load_text("limit.toml", text, &[]).map(|_| ()).expect_err("it was taken").to_string()
}

/// After a hundred years of weekly changes the tank stands where its settled cycle says.
#[test]
fn a_century_ends_in_the_settled_cycle() {
    let (loaded, outcome) = simulate(TANK, &["run=36525 d"]);
    assert_eq!(outcome.tally.changes, 5217);
    assert!(outcome.ledger.relative_residual() < 1e-12);
    let settled = settle(&loaded.scenario.plan).unwrap();
    let last_weeks = outcome.trace.solutes[0].iter().rev().take(20);
    near(last_weeks.fold(0.0, |m, v| v.max(m)), settled.solutes[0].peak, 1e-9, "peak");
    assert!(refusal(&TANK.replace("output", "run = \"36526 d\"\noutput")).contains("at most 36525 d"));
}

/// A chain of 200 solutes hands on all that it was given.
#[test]
fn two_hundred_solutes_are_run_and_one_more_is_refused() {
    let chain = |n: usize| {
        let mut text = String::from("format = 1\nrun = \"30 d\"\noutput = \"events\"\n[tank]\nvolume = \"100 L\"\n");
        for i in 0..n {
            write!(text, "[solutes.s{i}]\nunit = \"mg/L\"\nstart = \"{}\"\n", if i == 0 { "1 mg/L" } else { "0 mg/L" })
                .unwrap();
            if i + 1 < n {
                write!(text, "becomes = \"s{}\"\nconversion = \"50 %/d\"\n", i + 1).unwrap();
            }
        }
        text
    };
    let (_, outcome) = simulate(&chain(200), &[]);
    assert!(outcome.ledger.relative_residual() < 1e-12);
    let held: f64 = outcome.trace.solutes.iter().map(|c| c.last().unwrap()).sum();
    near(held, 1.0, 1e-12, "what the chain holds");
    let message = refusal(&chain(201));
    assert!(message.contains("201 solutes are too many") && message.contains("at most 200"), "{message}");
}

/// Two acts every ten minutes for 500 days are 144 000 events; past 500 000 of one kind is refused.
#[test]
fn many_events_are_run_and_too_many_are_refused() {
    let doses = "[doses.a]\nof = \"nitrate\"\namount = \"0.001 mg/L\"\nevery = \"10 min\"\n";
    let often = ["run=500 d", "change.every=10 min", "change.amount=0.01 %", "change.level_down=0 min"];
    let (_, outcome) = simulate(&(TANK.to_owned() + doses), &often);
    assert_eq!(outcome.events.len(), 2 * 72_000);
    assert!(outcome.ledger.relative_residual() < 1e-12);
    let message = refusal(&TANK.replace("output", "run = \"3500 d\"\noutput").replace("7 d", "10 min"));
    assert!(message.contains("more than 500000 times in the run") && message.contains("limit.toml:"), "{message}");
}

#[test]
fn rows_by_the_minute_are_run_and_more_than_two_million_are_refused() {
    let (_, outcome) = simulate(TANK, &["run=40 d", "output=1 min"]);
    assert!(outcome.trace.len() >= 40 * 1440);
    assert!(load(TANK, &["run=1388 d", "output=1 min"]).scenario.plan.output_every.is_some());
    let message = refusal(&TANK.replace("output = \"events\"", "run = \"1389 d\"\noutput = \"1 min\""));
    assert!(message.contains("at most 2000000 rows"), "{message}");
}

#[test]
fn a_station_of_a_thousand_tanks_is_loaded_and_one_more_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("tank.toml"), TANK).unwrap();
    let station = |more: &str| {
        let path = folder.path().join("station.toml");
        let text = format!(
            "format = 1\n[station.purifier]\nrated = \"100000 L/d\"\n[station.fresh_store]\nvolume = \"90000 L\"\n\
             [station.vessels.vat]\nvolume = \"90000 L\"\n[tanks.reef]\nscenario = \"tank.toml\"\ncount = \"1000\"\n{more}"
        );
        fs::write(&path, text).unwrap();
        load_station(path.to_str(), &[])
    };
    assert_eq!(station("").unwrap().tanks.len(), 1000);
    let message = station("[tanks.one]\nscenario = \"tank.toml\"\n").unwrap_err().to_string();
    assert!(message.contains("1001 tanks are too many") && message.contains("at most 1000"), "{message}");
}
