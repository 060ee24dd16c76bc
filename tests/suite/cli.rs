//! The command line, as a user types it.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

pub(crate) fn brinecast(folder: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_brinecast")).args(args).current_dir(folder).output().unwrap()
}

pub(crate) fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

pub(crate) fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

#[test]
fn run_without_a_scenario_writes_the_built_in_one() {
    let folder = tempfile::tempdir().unwrap();
    let output = brinecast(folder.path(), &["run"]);
    assert!(output.status.success(), "{}", stderr(&output));
    let out = folder.path().join("output/mixed-reef");
    for file in [
        "trace.csv",
        "events.csv",
        "ledger.csv",
        "summary.json",
        "salinity.svg",
        "salinity.png",
        "nitrate.svg",
        "level.png",
    ] {
        assert!(out.join(file).metadata().unwrap().len() > 0, "{file}");
    }
    assert!(
        fs::read_dir(&out).unwrap().all(|e| !e.unwrap().file_name().to_str().unwrap().starts_with('.')),
        "temporary files are left"
    );
    assert!(stdout(&output).lines().all(|l| l.chars().count() <= 80), "wider than 80 columns");
}

#[test]
fn json_on_stdout_is_summary_json() {
    let folder = tempfile::tempdir().unwrap();
    let output =
        brinecast(folder.path(), &["run", "nano-by-hand", "--out", "here", "--format", "json", "--set", "run=20d"]);
    assert!(output.status.success(), "{}", stderr(&output));
    assert_eq!(stdout(&output), fs::read_to_string(folder.path().join("here/summary.json")).unwrap());
    let json: serde_json::Value = serde_json::from_str(&stdout(&output)).unwrap();
    assert_eq!(json["scenario"], "nano-by-hand");
    assert_eq!(json["basis"], "mass");
    assert_eq!(json["brinecast"], env!("CARGO_PKG_VERSION"));
    assert!(json["warnings"].is_array());
}

#[test]
fn the_trace_has_the_columns_of_the_contract_and_reads_back() {
    let folder = tempfile::tempdir().unwrap();
    assert!(brinecast(folder.path(), &["run", "mixed-reef", "--out", "o", "--quiet"]).status.success());
    let mut trace = csv::Reader::from_path(folder.path().join("o/trace.csv")).unwrap();
    let header: Vec<String> = trace.headers().unwrap().iter().map(str::to_owned).collect();
    assert_eq!(
        header,
        [
            "time_d",
            "event",
            "volume_L",
            "salinity_psu",
            "nitrate_mg_per_L",
            "phosphate_mg_per_L",
            "alkalinity_meq_per_L",
            "date"
        ]
    );
    let rows: Vec<csv::StringRecord> = trace.records().map(|r| r.unwrap()).collect();
    let change = rows.iter().position(|r| &r[1] == "change").unwrap();
    assert_eq!(rows[change][0], rows[change - 1][0], "before and after share the time");
    let mut ledger = csv::Reader::from_path(folder.path().join("o/ledger.csv")).unwrap();
    assert_eq!(
        &ledger.headers().unwrap().iter().collect::<Vec<_>>()[..4],
        ["cause", "water_kg", "salt_kg", "nitrate_mg"]
    );
    let rows: Vec<csv::StringRecord> = ledger.records().map(|r| r.unwrap()).collect();
    assert_eq!(&rows.last().unwrap()[0], "residual");
    for column in 1..rows[0].len() {
        let sum: f64 = rows[..rows.len() - 1].iter().map(|r| r[column].parse::<f64>().unwrap()).sum();
        let largest = rows.iter().map(|r| r[column].parse::<f64>().unwrap().abs()).fold(0.0, f64::max);
        assert!(sum.abs() <= 1e-12 * largest, "column {column} adds up to {sum}");
    }
}

#[test]
fn a_broken_band_ends_with_one_where_it_is_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(brinecast(folder.path(), &["run", "mixed-reef", "--check", "-q"]).status.code(), Some(1));
    assert_eq!(brinecast(folder.path(), &["run", "mixed-reef", "-q"]).status.code(), Some(0));
    let kept =
        ["run", "mixed-reef", "--check", "-q", "--set", "losses.skimmate=0 L/d", "--set", "losses.salt_creep=0 g/d"];
    assert_eq!(brinecast(folder.path(), &kept).status.code(), Some(0));
}

/// DESIGN section 7's own example of an override, on a scenario that names days of the week.
#[test]
fn one_way_of_saying_when_replaces_another() {
    let folder = tempfile::tempdir().unwrap();
    let run = |set: &str| {
        let output = brinecast(folder.path(), &["run", "mixed-reef", "--format", "json", "--set", set]);
        assert!(output.status.success(), "{set}: {}", stderr(&output));
        let json: serde_json::Value = serde_json::from_str(&stdout(&output)).unwrap();
        json["totals"]["changes"].as_u64().unwrap()
    };
    assert_eq!(run("change.every=10d"), 36);
    assert_eq!(run("change.on=[Mon, Thu]"), 105);
    assert_eq!(run("change.dates=[2026-05-01]"), 1);
}

#[test]
fn mistakes_end_with_two_and_say_where() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bad.toml");
    fs::write(&file, "format = 1\n[tank]\nvolume = \"400 kg\"\n").unwrap();
    let output = brinecast(folder.path(), &["run", "bad.toml"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(stdout(&output).is_empty());
    let message = stderr(&output);
    assert!(message.starts_with("error: ") && message.contains("bad.toml:3:10"), "{message}");
    assert!(!folder.path().join("output").exists(), "a bad file makes no folder");

    let output = brinecast(folder.path(), &["run", "mixed-reef", "--set", "change.evry=10d"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("nearest: `every`"), "{}", stderr(&output));

    fs::write(&file, [0u8, 159, 146, 150, 255]).unwrap();
    let output = brinecast(folder.path(), &["run", "bad.toml"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("no text file"), "{}", stderr(&output));

    let output = brinecast(folder.path(), &["run", "no-such-thing"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        stderr(&output).contains("no built-in scenario `no-such-thing`") && stderr(&output).contains("`mixed-reef`"),
        "{}",
        stderr(&output)
    );
}

#[test]
fn a_file_of_100_megabytes_is_refused_without_reading_it_whole() {
    let folder = tempfile::tempdir().unwrap();
    let file = fs::File::create(folder.path().join("large.toml")).unwrap();
    file.set_len(100 << 20).unwrap();
    let output = brinecast(folder.path(), &["check", "large.toml"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("larger than 1024 kB"), "{}", stderr(&output));
}

#[test]
fn an_output_path_that_is_a_file_is_refused_and_the_file_stays() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("taken"), "mine").unwrap();
    let output = brinecast(folder.path(), &["run", "--out", "taken"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("cannot be written"), "{}", stderr(&output));
    assert_eq!(fs::read_to_string(folder.path().join("taken")).unwrap(), "mine");
}

#[test]
fn new_check_and_run_work_on_what_new_wrote() {
    for us in [
        &["new", "my-reef"][..],
        &["new", "my-reef", "--units", "us"],
        &["new", "My Reef", "--units", "imperial", "--meter", "sg 60F/60F"],
    ] {
        let folder = tempfile::tempdir().unwrap();
        assert!(brinecast(folder.path(), us).status.success());
        let output = brinecast(folder.path(), &["check", "my-reef.toml"]);
        assert!(output.status.success(), "{}", stderr(&output));
        assert!(brinecast(folder.path(), &["run", "my-reef.toml", "-q"]).status.success());
        let again = brinecast(folder.path(), us);
        assert_eq!(again.status.code(), Some(2), "new must not overwrite");
    }
}

#[test]
fn the_schema_knows_every_key_of_the_built_in_scenarios() {
    let folder = tempfile::tempdir().unwrap();
    let output = brinecast(folder.path(), &["schema"]);
    let schema: serde_json::Value = serde_json::from_str(&stdout(&output)).unwrap();
    for (name, text) in brinecast::app::BUILT_IN {
        let table: toml::Table = text.parse().unwrap();
        check_keys(name, &serde_json::to_value(table).unwrap(), &schema);
    }
}

/// DESIGN section 8: `convert` answers `{"value", "unit"}`.
#[test]
fn convert_answers_on_the_scale_that_was_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    for (value, to, want) in [
        ("35 psu", "sg 25C/25C", 1.026374),
        ("35 psu", "g/kg", 35.16504),
        ("35 psu", "mS/cm", 53.07103),
        ("1.025 sg 25C/25C", "psu", 33.19),
        ("53.0 mS/cm", "psu", 34.9473),
        ("35 psu", "n", 1.338858),
        ("35 psu", "kg/m3", 1023.343),
        ("78F", "C", 25.5556),
        ("75 US gal", "L", 283.9059),
        ("50 gpd", "L/h", 7.8863),
        ("8 dKH", "meq/L", 2.8532),
        ("100 ppm CaCO3", "dKH", 5.60292),
        ("10 mg/L NO3-N", "mg/L NO3", 44.26644),
        ("0.1 mg/L PO4", "mg/L PO4-P", 0.032614),
        ("60 psi", "bar", 4.13685),
        ("-1.8 C", "F", 28.76),
    ] {
        let output = brinecast(folder.path(), &["convert", value, "--in", to, "--format", "json"]);
        assert!(output.status.success(), "{value} to {to}: {}", stderr(&output));
        let json: serde_json::Value = serde_json::from_str(&stdout(&output)).unwrap();
        let got = json["value"].as_f64().unwrap();
        assert!((got - want).abs() < 2e-4 * want.abs(), "{value} to {to}: {got}, want {want}");
        assert!(json["unit"].is_string());
    }
    for (value, to, piece) in [
        ("1.0264", "psu", "needs its pair"),
        ("75 gal", "L", "US gal"),
        ("35 psu", "kg", "no scale of salinity"),
        ("90 psu", "g/kg", "outside 0 to 42"),
        ("3 parsecs", "L", "cannot be turned into"),
        ("", "psu", "empty"),
        ("1e308 L", "mL", "not a finite number"),
    ] {
        let output = brinecast(folder.path(), &["convert", value, "--in", to]);
        assert_eq!(output.status.code(), Some(2), "{value} to {to}");
        assert!(stderr(&output).contains(piece), "{value} to {to}: {}", stderr(&output));
    }
}

#[test]
fn properties_tabulates_and_refuses_what_nobody_measured() {
    let folder = tempfile::tempdir().unwrap();
    let output = brinecast(folder.path(), &["properties", "--salinity", "35 psu", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&stdout(&output)).unwrap();
    assert!((json["rows"][0]["density_kg_per_m3"].as_f64().unwrap() - 1023.343).abs() < 5e-3);
    let output = brinecast(folder.path(), &["properties", "--temperature", "90 C"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("-2 to 40"), "{}", stderr(&output));
}

/// DESIGN section 8, `batch` and `adjust`.
#[test]
fn batch_and_adjust_answer_by_the_contract() {
    let folder = tempfile::tempdir().unwrap();
    let json = |args: &[&str]| -> serde_json::Value {
        let output = brinecast(folder.path(), args);
        assert!(output.status.success(), "{args:?}: {}", stderr(&output));
        serde_json::from_str(&stdout(&output)).unwrap()
    };
    let number = |v: &serde_json::Value, key: &str| v[key].as_f64().unwrap_or_else(|| panic!("{key} in {v}"));
    // published.csv P-DOSE-09 and P-DOSE-03
    let batch = json(&[
        "batch",
        "--finished",
        "100 L",
        "--salinity",
        "35 psu",
        "--temperature",
        "25 C",
        "--water-in-mix",
        "10 %",
        "--format",
        "json",
    ]);
    assert!((number(&batch, "salt_mix_kg") - 3.99844).abs() < 1e-4);
    assert!(number(&batch, "fresh_water_L") > 98.0 && number(&batch, "fresh_water_L") < 99.0);
    assert!((number(&batch, "finished_L") - 100.0).abs() < 1e-9);
    assert!(number(&batch, "first_dose_kg") < number(&batch, "salt_mix_kg"));
    assert!(batch["warnings"].is_array() && batch["brinecast"].is_string());
    let batch = json(&[
        "batch",
        "--fresh",
        "100L",
        "--salinity",
        "35 psu",
        "--temperature",
        "25 C",
        "--water-in-mix",
        "10 %",
        "--format",
        "json",
    ]);
    assert!((number(&batch, "salt_mix_kg") - 4.05409).abs() < 1e-4);
    // the card's corrections are those of adjust
    let card = json(&["batch", "--finished", "60 L", "--format", "json"]);
    let step = json(&["adjust", "--volume", "60 L", "--reads", "36 psu", "--salinity", "35 psu", "--format", "json"]);
    assert!((number(&card, "per_psu_down_L") - number(&step, "fresh_water_L")).abs() < 1e-9);
    let down = json(&["adjust", "--volume", "120 L", "--reads", "36 psu", "--salinity", "35 psu", "--format", "json"]);
    assert!((number(&down, "fresh_water_L") - 3.52).abs() < 0.01 && number(&down, "remove_L") == 0.0);
    let full = json(&[
        "adjust",
        "--volume",
        "120 L",
        "--reads",
        "36 psu",
        "--salinity",
        "35 psu",
        "--vessel",
        "120 L",
        "--format",
        "json",
    ]);
    assert!((number(&full, "remove_L") - 3.4).abs() < 0.2);
    // a meter that shows 1 psu too much: 36 on it is 35, and nothing is to be done
    let biased = json(&[
        "adjust",
        "--volume",
        "120 L",
        "--reads",
        "36 psu",
        "--salinity",
        "35 psu",
        "--meter-bias",
        "1 psu",
        "--format",
        "json",
    ]);
    assert!(number(&biased, "salt_mix_kg") < 1e-9 && number(&biased, "fresh_water_L") < 1e-9);
}

/// Two standards set offset and slope: a meter that shows 0.7 + 1.04 S.
#[test]
fn adjust_takes_standards_for_the_meter() {
    let folder = tempfile::tempdir().unwrap();
    let truth = |standards: &[&str], reads: &str| {
        let mut args =
            vec!["adjust", "--volume", "100 L", "--salinity", "35 psu", "--reads", reads, "--format", "json"];
        for standard in standards {
            args.extend(["--standard", standard]);
        }
        let output = brinecast(folder.path(), &args);
        assert!(output.status.success(), "{}", stderr(&output));
        let json: serde_json::Value = serde_json::from_str(&stdout(&output)).unwrap();
        json["true_psu"].as_f64().unwrap()
    };
    assert!((truth(&["35 psu reads 36.2 psu"], "36.2 psu") - 35.0).abs() < 1e-9);
    assert!((truth(&["0 psu reads 0.7 psu", "35 psu reads 37.1 psu"], "34.5 psu") - 32.5).abs() < 1e-9);
    assert!((truth(&["3.65 % brine reads 35 psu"], "35 psu") - 35.0).abs() < 0.6);
    let output = brinecast(
        folder.path(),
        &["adjust", "--volume", "9 L", "--reads", "35 psu", "--salinity", "35 psu", "--standard", "35"],
    );
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("does not say what the meter reads"), "{}", stderr(&output));
}

#[test]
fn impossible_batches_get_a_plain_answer_of_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    for (args, piece) in [
        (
            &["batch", "--finished", "60 L", "--salinity", "12 psu", "--heel", "40 L", "--heel-salinity", "35 psu"][..],
            "draw some of it off first",
        ),
        (&["batch", "--finished", "30 L", "--heel", "40 L", "--heel-salinity", "35 psu"][..], "already holds"),
        (&["batch", "--finished", "60 L", "--label", "20 g/L fresh at 35 psu"][..], "dry sea salt alone takes"),
        (&["batch", "--finished", "60 L", "--label", "38 g/L at 35 psu"][..], "fresh or of finished water"),
        (&["batch", "--finished", "60 L", "--heater", "0 W"][..], "heats nothing"),
        (&["batch", "--finished", "60 L", "--meter-scale", "sg"][..], "needs its pair of temperatures"),
        (&["batch", "--finished", "60 gal"][..], "US gal"),
        (&["batch", "--finished", "-3 L"][..], "greater than zero"),
        (&["batch", "--finished", "60 L", "--salinity", "1.026"][..], "needs its pair of temperatures"),
        (&["batch", "--finished", "60 L", "--ready-by", "Saturday"][..], "no hour of a day"),
        (&["batch", "--finished", "60 L", "--chance", "100 %"][..], "below 100 %"),
        (&["batch", "--finished", "60 L", "--chance", "1 %"][..], "at least 50 % and below 100 %"),
        (&["batch", "--finished", "60 L", "--co2", "nan"][..], "from 10 to 50000"),
        (&["batch", "--finished", "60 L", "--stored", "1e9 d"][..], "at most 365 d"),
        (&["batch", "--finished", "60 L", "--batch-log", "none.csv"][..], "cannot be read"),
        (
            &["adjust", "--volume", "120 L", "--reads", "36 psu", "--salinity", "35 psu", "--vessel", "100 L"][..],
            "holds less than",
        ),
        (&["mix-to", "fortnight-away"][..], "changes no water"),
    ] {
        let output = brinecast(folder.path(), args);
        assert_eq!(output.status.code(), Some(2), "{args:?}\n{}", stdout(&output));
        let message = stderr(&output);
        assert!(message.starts_with("error: ") && message.contains(piece), "{args:?}: {message}");
    }
    // too small a vessel and too weak a heater are answers, not mistakes
    let output =
        brinecast(folder.path(), &["batch", "--finished", "60 L", "--vessel", "20 L", "--heater", "5 W", "--full"]);
    let text = stdout(&output).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("4 mixes") && text.contains("heater-too-weak"), "{text}");
}

#[test]
fn a_batch_log_teaches_and_names_its_bad_rows() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(
        folder.path().join("log.csv"),
        "fresh_L,salt_g,salinity_psu\n60,2500,34.6\n60,2480,34.5\n60,,35\n60,2510,34.8\n",
    )
    .unwrap();
    let output = brinecast(folder.path(), &["batch", "--finished", "60 L", "--batch-log", "log.csv", "--out", "card"]);
    assert!(output.status.success(), "{}", stderr(&output));
    let said = stderr(&output);
    assert!(said.contains("3 batches of the log") && said.contains("log.csv, line 4"), "{said}");
    let card = fs::read_to_string(folder.path().join("card/card.html")).unwrap();
    assert!(card.starts_with("<!DOCTYPE html>") && card.contains("first portion") && !card.contains("http"));
}

fn check_keys(path: &str, value: &serde_json::Value, schema: &serde_json::Value) {
    if let Some(ways) = schema.get("anyOf").and_then(|ways| ways.as_array()) {
        let kind = if value.is_object() { "object" } else { "string" };
        let way = ways.iter().find(|way| way["type"] == kind);
        return check_keys(path, value, way.unwrap_or_else(|| panic!("{path}: {value} does not fit {schema}")));
    }
    let Some(table) = value.as_object() else {
        let kind = schema.get("type").and_then(|t| t.as_str());
        let fits = match value {
            serde_json::Value::String(_) => kind == Some("string") || schema.get("enum").is_some(),
            serde_json::Value::Array(_) => kind == Some("array"),
            _ => schema.get("const").is_some(),
        };
        assert!(fits, "{path}: {value} does not fit {schema}");
        return;
    };
    // A table of any keys of a scenario (a variant, a spread) says so by naming none.
    if schema["type"] == "object" && schema.get("properties").is_none() && schema.get("additionalProperties").is_none()
    {
        return;
    }
    for (key, below) in table {
        let known =
            schema["properties"].get(key).or_else(|| schema.get("additionalProperties").filter(|a| a.is_object()));
        let known = known.unwrap_or_else(|| panic!("{path}.{key} is not in the schema"));
        check_keys(&format!("{path}.{key}"), below, known);
    }
}

/// What every JSON carries, whatever the command.
#[test]
fn every_json_says_where_it_comes_from() {
    let folder = tempfile::tempdir().unwrap();
    super::logs::write_demo_logs(folder.path());
    fs::write(folder.path().join("my-tank.toml"), include_str!("../../scenarios/mixed-reef.toml")).unwrap();
    let commands: [&[&str]; 14] = [
        &["run"],
        &["compare", "uncertain-reef"],
        &["sweep", "--over", "change.amount=10%,20%"],
        &["choose", "uncertain-reef", "--over", "change.amount=20%,40%", "--members", "20"],
        &["ensemble", "uncertain-reef", "--members", "20"],
        &["sensitivity", "uncertain-reef", "--samples", "4"],
        &["faults", "--only", "siphon-back"],
        &["correct", "--reads", "33 psu", "--share", "20 %"],
        &["rescue", "--solute", "copper", "--reads", "9 ug/L", "--down-to", "3 ug/L"],
        &["drift"],
        &["fit", "my-tank.toml", "--log", "my-log.csv"],
        &["station", "--members", "50"],
        &["away", "--members", "20"],
        &["plan", "--span", "7 d"],
    ];
    for args in commands {
        let output = brinecast(folder.path(), &[args, &["--format", "json"]].concat());
        assert!(output.status.success(), "{args:?}: {}", stderr(&output));
        let json: serde_json::Value =
            serde_json::from_str(&stdout(&output)).unwrap_or_else(|e| panic!("{args:?}: {e}"));
        assert_eq!(json["brinecast"], env!("CARGO_PKG_VERSION"), "{args:?}");
        assert!(json["scenario"].is_string() && json["basis"] == "mass", "{args:?}");
        for warning in json["warnings"].as_array().unwrap_or_else(|| panic!("{args:?}: no warnings")) {
            assert!(["code", "text", "advice"].iter().all(|k| warning[*k].is_string()), "{args:?}: {warning}");
        }
        let chance = ["choose", "ensemble", "sensitivity", "fit", "station", "away"].contains(&args[0]);
        assert_eq!(json["seed"].is_number(), chance, "{args:?}");
    }
}

/// Every line of the README that starts with the program's name is run as it stands.
#[test]
fn every_example_of_the_readme_runs() {
    let readme = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/README.md")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    super::logs::write_demo_logs(folder.path());
    let mut seen = 0;
    let blocks = readme.split("```sh\n").skip(1).filter_map(|b| b.split("```").next());
    for line in blocks.flat_map(str::lines).filter_map(|l| l.strip_prefix("brinecast ")) {
        let line = line.split(" #").next().unwrap().split(" > ").next().unwrap().trim();
        let args: Vec<String> = split(line);
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        seen += 1;
        if args[0] == "explore" {
            super::http::opens(folder.path(), &args);
            continue;
        }
        let output = brinecast(folder.path(), &args);
        assert!(output.status.success(), "brinecast {line}\n{}", stderr(&output));
    }
    assert!(seen >= 5, "only {seen} examples");
    // What it says that the program prints is what it prints.
    let printed = readme.split("```text\n").nth(1).unwrap().split("```").next().unwrap();
    let answer = stdout(&brinecast(folder.path(), &["run", "mixed-reef", "-q", "--no-files"]));
    assert_eq!(printed, answer);
}

/// Splits a line as a shell would, with double quotes.
pub(crate) fn split(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            c => words.last_mut().unwrap().push(c),
        }
    }
    words.retain(|w| !w.is_empty());
    words
}
