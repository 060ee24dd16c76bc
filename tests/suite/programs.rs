//! What programs rely on: schemas, versions, streams; and every command of the guide runs.

use std::fs;
use std::io::Write;
use std::process::{Command, Stdio};

use crate::cli::{brinecast, split, stderr, stdout};
use crate::commands::{COMMANDS, TANK, folder};

/// The answer of every command is as its schema says, and names the version of its form. The schema is checked by a validator that
/// knows nothing of this program.
#[test]
fn every_answer_is_as_its_schema_says() {
    let folder = folder(TANK);
    let here = folder.path();
    let mut seen = 0;
    for args in COMMANDS.iter().chain(&[&["list"][..], &["keys"]]) {
        if ["check", "schema", "man"].contains(&args[0]) {
            continue;
        }
        let output = brinecast(here, &[*args, &["--format", "json"]].concat());
        assert!(output.status.success(), "{args:?}: {}", stderr(&output));
        let answer: serde_json::Value = serde_json::from_str(&stdout(&output)).unwrap();
        assert_eq!(answer["format"], 3, "{args:?}");
        let schema: serde_json::Value =
            serde_json::from_str(&stdout(&brinecast(here, &["schema", "--of", args[0]]))).unwrap();
        let validator = jsonschema::validator_for(&schema).unwrap();
        let wrong: Vec<String> =
            validator.iter_errors(&answer).map(|e| format!("{e} at {}", e.instance_path())).collect();
        assert!(wrong.is_empty(), "{args:?}: {}", wrong.join("\n"));
        // And it is no schema that takes anything.
        assert!(!validator.is_valid(&serde_json::json!({ "format": 3 })), "{args:?}");
        seen += 1;
    }
    assert_eq!(seen, brinecast::app::WITH_SCHEMA.len(), "a command without a schema, or without a test");
}

/// A scenario from stdin, an answer on stdout, and nothing left behind.
#[test]
fn a_scenario_is_piped_through() {
    let folder = tempfile::tempdir().unwrap();
    let mut child = Command::new(env!("CARGO_BIN_EXE_brinecast"))
        .args(["run", "-", "--no-files", "--format", "json"])
        .current_dir(folder.path())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(TANK.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(answer["scenario"], "stdin");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0, "files were written");
}

/// Rows in time and events carry their date: 2026-03-02 is day 0 of the reef.
#[test]
fn tables_carry_dates() {
    let folder = tempfile::tempdir().unwrap();
    assert!(brinecast(folder.path(), &["run", "mixed-reef", "--out", "o"]).status.success());
    for (file, day, date) in [("trace.csv", "1", "2026-03-03T00:00:00"), ("events.csv", "3", "2026-03-05T00:00:00")] {
        let mut table = csv::Reader::from_path(folder.path().join("o").join(file)).unwrap();
        let dates = table.headers().unwrap().iter().position(|h| h == "date").unwrap();
        let row =
            table.records().map(Result::unwrap).find(|r| &r[0] == day).unwrap_or_else(|| panic!("{file}: day {day}"));
        assert_eq!(&row[dates], date, "{file}");
    }
}

/// Every command of the guide is run as it stands, and every chapter is printed.
#[test]
fn every_command_of_the_guide_runs() {
    let folder = tempfile::tempdir().unwrap();
    crate::logs::write_demo_logs(folder.path());
    let mut seen = 0;
    for (name, title, text) in brinecast::guide::CHAPTERS {
        let printed = stdout(&brinecast(folder.path(), &["guide", name]));
        assert!(printed.starts_with("# "), "{name}: {title}");
        for block in text.split("```sh\n").skip(1).filter_map(|b| b.split("```").next()) {
            for line in block.lines().filter_map(|l| l.strip_prefix("brinecast ")) {
                let args: Vec<String> = split(line.split(" #").next().unwrap().trim());
                let args: Vec<&str> = args.iter().map(String::as_str).collect();
                seen += 1;
                if args[0] == "explore" {
                    crate::http::opens(folder.path(), &args);
                    continue;
                }
                let output = brinecast(folder.path(), &args);
                assert!(output.status.success(), "{name}: brinecast {line}\n{}", stderr(&output));
            }
        }
        // Prose fits a terminal that is asked to be wide.
        assert!(text.lines().filter(|l| !l.starts_with('|')).all(|l| l.chars().count() <= 140), "{name}: a wide line");
    }
    assert!(seen > 50, "only {seen} commands");
    let list = stdout(&brinecast(folder.path(), &["guide"]));
    assert!(brinecast::guide::CHAPTERS.iter().all(|(name, title, _)| list.contains(name) && list.contains(title)));
    let wrong = brinecast(folder.path(), &["guide", "loggs"]);
    assert!(wrong.status.code() == Some(2) && stderr(&wrong).contains("nearest: `logs`"), "{}", stderr(&wrong));
}

/// What a keeper looks for is found under the keeper's word, and what is named comes out.
#[test]
fn things_are_found_by_the_words_of_the_trade() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let said = |args: &[&str]| {
        let output = brinecast(here, args);
        assert!(output.status.success(), "{args:?}: {}", stderr(&output));
        stdout(&output)
    };
    assert!(said(&["keys", "ato"]).contains("top_off.by"));
    assert!(said(&["keys", "skimmer"]).contains("losses.skimmate"));
    let all: serde_json::Value = serde_json::from_str(&said(&["keys", "--format", "json"])).unwrap();
    assert!(all["keys"].as_array().unwrap().len() > 120);
    for (list, name) in [
        ("scenarios", "mixed-reef"),
        ("stations", "corner-shop"),
        ("faults", "power-cut"),
        ("solutes", "nitrate"),
        ("measures", "settled.QUANTITY.peak"),
        ("chemicals", "NaHCO3"),
    ] {
        assert!(said(&["list", list]).contains(name), "{list}");
    }
    assert_eq!(said(&["show", "mixed-reef"]), include_str!("../../scenarios/mixed-reef.toml"));
    // A value in the keeper's word, a file without its ending, no scenario at all.
    let ato = stderr(&brinecast(here, &["run", "--set", "top_off.by=ato"]));
    assert!(ato.contains("here that is `float`"), "{ato}");
    fs::write(here.join("ls.toml"), TANK).unwrap();
    let beside = stderr(&brinecast(here, &["run", "ls"]));
    assert!(beside.contains("there is a file ls.toml"), "{beside}");
    assert!(
        stderr(&brinecast(here, &["plan", "--no-files"]))
            .contains("no scenario is named, so the built-in mixed-reef is taken")
    );
}
