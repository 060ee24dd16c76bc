//! Units on screens, in pictures and reports: those of the scenario. Files for programs keep theirs.

use std::fs;
use std::path::Path;

use super::cli::{brinecast, stderr, stdout};

/// The mixed reef of a keeper in the United States.
const US: [&str; 3] = ["mixed-reef", "--set", "units=us"];

fn said(folder: &Path, command: &str, rest: &[&str]) -> String {
    let args = [&[command], &US[..], rest].concat();
    let output = brinecast(folder, &args);
    assert!(output.status.success(), "{command}: {}", stderr(&output));
    stdout(&output)
}

/// The text before its cautions has no litres, kilograms or degrees Celsius left in it.
fn without_metric(text: &str) {
    for line in text.lines().take_while(|l| !l.starts_with("Caution")) {
        let words: Vec<&str> = line.split(|c: char| c.is_whitespace() || "(),;:".contains(c)).collect();
        for pair in words.windows(2) {
            let number = pair[0].trim_start_matches('+').parse::<f64>().is_ok();
            let metric = ["L", "L/d", "kg", "C", "°C", "kPa", "litres"].contains(&pair[1]);
            assert!(!(number && metric), "`{} {}` in: {line}", pair[0], pair[1]);
        }
    }
}

#[test]
fn every_study_of_a_scenario_speaks_its_units() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let correct = said(here, "correct", &["--from", "31 psu"]);
    assert!(correct.contains("US gal of new water in all") && correct.contains("US gal     psu"), "{correct}");
    let rescue =
        said(here, "rescue", &["--of", "copper", "--from", "60 ug/L", "--to", "3 ug/L", "--temperature", "70 F"]);
    assert!(rescue.contains("US gal") && rescue.contains("°F"), "{rescue}");
    let away = said(here, "away", &["--members", "40"]);
    assert!(away.contains("reservoir US gal") && away.contains("spill US gal"), "{away}");
    let faults = said(here, "faults", &[]);
    assert!(faults.contains("6.6 US gal in the reservoir"), "{faults}");
    let cold = said(here, "faults", &["--only", "batch-too-cold"]);
    assert!(cold.contains("1 fault\n") && cold.contains("9 °F colder"), "{cold}");
    let compare = said(here, "compare", &["--case", "drier: losses.skimmate=0.05 L/d"]);
    assert!(compare.lines().any(|l| l.starts_with("salt water used") && l.ends_with("  US gal")), "{compare}");
    let sweep = said(here, "sweep", &["--over", "change.amount=10%,20%", "--measure", "litres"]);
    assert!(sweep.contains("litres [US gal]"), "{sweep}");
    assert!(fs::read_to_string(here.join("output/mixed-reef/litres.svg")).unwrap().contains("US gal"));
    let table = fs::read_to_string(here.join("output/mixed-reef/sweep.csv")).unwrap();
    assert_eq!(table.lines().next(), Some("change_amount_percent,litres_L"));
    let choose = said(here, "choose", &["--over", "change.amount=10%,50%"]);
    assert!(choose.contains("US gal/year") && choose.contains("lb/year"), "{choose}");
    let plan = said(here, "plan", &[]);
    assert!(plan.contains("salt water US gal") && plan.contains("salt mix lb"), "{plan}");
    for text in [correct, rescue, away, faults, cold, compare, sweep, choose, plan] {
        without_metric(&text);
        assert!(text.lines().all(|l| l.chars().count() <= 80), "wider than 80 columns:\n{text}");
    }
}

#[test]
fn pictures_and_report_of_a_run_speak_the_units_of_the_scenario() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    said(here, "run", &["--set", "tank.temperature=78 F"]);
    let out = here.join("output/mixed-reef");
    let water = fs::read_to_string(out.join("water_by_cause.svg")).unwrap();
    assert!(water.contains("lb") && !water.contains("[kg]"), "{water}");
    let report = fs::read_to_string(out.join("report.html")).unwrap();
    let volume = &report[report.find(">volume<").unwrap()..];
    assert!(volume[..volume.find("</tr>").unwrap()].contains("US gal"), "{}", &volume[..200]);
    assert!(report.contains("78 °F") && !report.contains("25.5555555"));
    let summary = fs::read_to_string(out.join("summary.json")).unwrap();
    assert!(summary.contains("\"salt_water_L\"") && summary.contains("\"unit\": \"meq/L\""));
}

#[test]
fn rescue_takes_units_of_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let rescue = |units: &str| {
        let args =
            ["rescue", "--of", "copper", "--from", "60 ug/L", "--to", "3 ug/L", "--store", "50 gal", "--units", units];
        brinecast(folder.path(), &args)
    };
    assert!(stdout(&rescue("us")).contains("US gal"));
    assert!(stdout(&rescue("imperial")).contains("imp gal"));
    assert!(stderr(&rescue("metric")).contains("US gal"), "a bare gallon is asked about");
}

#[test]
fn the_floor_bears_pounds_on_the_square_inch_where_units_are_us() {
    let folder = tempfile::tempdir().unwrap();
    let card = |units: &str| stdout(&brinecast(folder.path(), &["batch", "--finished", "60 L", "--units", units]));
    assert!(card("us").contains(" psi on the floor") && card("metric").contains(" kPa on the floor"));
}

#[test]
fn a_solute_is_shown_in_the_form_in_which_the_scenario_gives_it() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let run = |sets: &[&str]| {
        let args = [&["run", "mixed-reef"], sets].concat();
        let output = brinecast(here, &args);
        assert!(output.status.success(), "{}", stderr(&output));
        stdout(&output)
    };
    let text = run(&[]);
    assert!(text.lines().any(|l| l.starts_with("alkalinity") && l.ends_with("  dKH")), "{text}");
    assert!(!text.contains("meq/L"), "{text}");
    let svg = fs::read_to_string(here.join("output/mixed-reef/alkalinity.svg")).unwrap();
    assert!(svg.contains("Does the alkalinity stay between 7 and 10 dKH?") && !svg.contains("meq/L"));
    let report = fs::read_to_string(here.join("output/mixed-reef/report.html")).unwrap();
    assert!(report.contains("dKH") && !report.contains("<td>meq/L</td>"));
    let trace = fs::read_to_string(here.join("output/mixed-reef/trace.csv")).unwrap();
    assert!(trace.lines().next().unwrap().ends_with("alkalinity_meq_per_L"));
    // The band comes before the start; nitrogen is a form of nitrate.
    let text = run(&["--set", "bands.nitrate=below 5 mg/L NO3-N"]);
    assert!(text.lines().any(|l| l.starts_with("nitrate") && l.ends_with("  mg/L NO3-N")), "{text}");
    let text = run(&["--set", "bands.alkalinity=2.5 to 3.6 meq/L"]);
    assert!(text.lines().any(|l| l.starts_with("alkalinity") && l.ends_with("  meq/L")), "{text}");
}
