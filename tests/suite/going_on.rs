//! A run that goes on from another: two halves equal the whole.

use std::fs;

use brinecast::app::BUILT_IN;
use brinecast::engine::{run, run_on};
use brinecast::model::Plan;
use brinecast::results::{RunState, Trace};
use brinecast::units::Duration;

use crate::cli::{brinecast, stderr, stdout};
use crate::support::near;

/// The first half of a plan, and what it hands on, through the file's own text.
fn half(plan: &Plan, days: f64) -> RunState {
    let mut first = plan.clone();
    first.horizon = Duration::from_days(days);
    let state = run(&first).unwrap().state;
    serde_json::from_str(&serde_json::to_string(&state).unwrap()).unwrap()
}

fn rows_after(trace: &Trace, day: f64) -> Vec<(f64, f64, f64, Vec<f64>)> {
    let rows = 0..trace.time_d.len();
    let of = |k: usize| {
        let solutes = trace.solutes.iter().map(|column| column[k]).collect();
        (trace.time_d[k], trace.salinity_psu[k], trace.volume_l[k], solutes)
    };
    rows.map(of).filter(|row| row.0 > day + 1e-9).collect()
}

#[test]
fn two_halves_equal_the_whole() {
    let more: [&[&str]; 3] = [
        &[],
        &["evaporation.swing=40 %", "top_off.gap=500 mL"],
        &["faults.a.fault=double-feed", "faults.a.from=8 d", "faults.a.to=16 d"],
    ];
    let mut tried = 0;
    for (name, _) in BUILT_IN {
        for sets in more {
            let sets: Vec<String> = sets.iter().map(ToString::to_string).collect();
            // Not every tank is fed, or loses water by a rate.
            let Ok(loaded) = brinecast::app::load(name, &sets) else { continue };
            let plan = loaded.scenario.plan;
            let whole = run(&plan).unwrap();
            for day in [7.0, 10.3, 0.5 * plan.horizon.days()] {
                let second = run_on(&plan, &half(&plan, day)).unwrap();
                near(second.from_d + second.days, whole.days, 1e-12, name);
                let (one, other) = (rows_after(&whole.trace, day), rows_after(&second.trace, day));
                assert_eq!(one.len(), other.len(), "{name} from day {day}");
                for (a, b) in one.iter().zip(&other) {
                    near(b.0, a.0, 1e-12, "time");
                    near(b.1, a.1, 1e-11, &format!("{name}: salinity on day {}", a.0));
                    near(b.2, a.2, 1e-11, &format!("{name}: volume on day {}", a.0));
                    for (x, y) in a.3.iter().zip(&b.3) {
                        near(*y, *x, 1e-9, &format!("{name}: a solute on day {}", a.0));
                    }
                }
                tried += 1;
            }
        }
    }
    assert!(tried >= 60, "only {tried}");
}

#[test]
fn a_state_is_written_and_read_by_the_command() {
    let folder = tempfile::tempdir().unwrap();
    let at = |args: &[&str]| brinecast(folder.path(), args);
    let run = |args: &[&str]| {
        let output = at(&[&["run", "mixed-reef", "--full"], args].concat());
        assert!(output.status.success(), "{}", stderr(&output));
        stdout(&output)
    };
    let ends = |text: &str| {
        text.lines().skip_while(|l| !l.starts_with("Over ")).find(|l| l.starts_with("nitrate")).unwrap().to_owned()
    };
    let whole = run(&["--out", "whole"]);
    run(&["--set", "run=100 d", "--write-state", "state.json", "--out", "first"]);
    let second = run(&["--from-state", "state.json", "--out", "second"]);
    assert!(second.split_whitespace().collect::<Vec<_>>().join(" ").contains("going on from another run"), "{second}");
    // From the right: at end, unit.
    let last = |text: &str| ends(text).split_whitespace().rev().nth(1).unwrap().to_owned();
    assert_eq!(last(&whole), last(&second));
    // What cannot be gone on from is said.
    for (state, scenario, why) in [
        ("state.json", "heavy-fish-load", "this state cannot be continued"),
        ("whole/summary.json", "mixed-reef", "is no state of a run"),
        ("none.json", "mixed-reef", "none.json"),
    ] {
        let output = at(&["run", scenario, "--from-state", state]);
        assert!(!output.status.success() && stderr(&output).contains(why), "{}", stderr(&output));
    }
    let late = at(&["run", "mixed-reef", "--set", "run=50 d", "--from-state", "state.json"]);
    assert!(stderr(&late).contains("make the run longer"), "{}", stderr(&late));
    let text = fs::read_to_string(folder.path().join("state.json")).unwrap();
    fs::write(folder.path().join("bad.json"), text.replace("\"water_kg\": ", "\"water_kg\": -")).unwrap();
    assert!(stderr(&at(&["run", "mixed-reef", "--from-state", "bad.json"])).contains("cannot be"));
}
