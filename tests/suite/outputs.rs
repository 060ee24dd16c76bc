//! What leaves the program: folders with their manifests, names, totals that are bounded before any work, forms of
//! nitrogen in every column, and a terminal that says what it was asked for. The inputs are invented.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use brinecast::app::{load_text, place_of};
use sha2::{Digest, Sha256};

use crate::cli::{brinecast, stderr, stdout};

/// A tank of 400 L with a change and a solute.
const TANK: &str = "format = 1\nrun = \"30 d\"\n[tank]\nvolume = \"400 L\"\n[change]\namount = \"15 %\"\nevery = \"7 d\"\n\
                    [solutes.nitrate]\nload = \"0.5 mg/L/d\"\n";

fn answered(folder: &Path, args: &[&str]) -> String {
    let output = brinecast(folder, args);
    assert!(output.status.success(), "{args:?}: {}", stderr(&output));
    stdout(&output)
}

fn refusal(text: &str) -> String {
    load_text("tank.toml", text, &[]).map(|_| ()).expect_err("it was taken").to_string()
}

fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let read = |e: fs::DirEntry| (e.file_name().into_string().unwrap(), fs::read(e.path()).unwrap());
    fs::read_dir(folder).unwrap().map(|e| read(e.unwrap())).collect()
}

/// Every file of a folder stands in the manifest of its command with its bytes and its SHA-256, and nothing else does.
#[test]
fn a_manifest_lists_every_file_with_its_sum() {
    let folder = tempfile::tempdir().unwrap();
    for args in [
        &["run", "mixed-reef"][..],
        &["sweep", "mixed-reef", "--over", "change.amount=10%,20%"],
        &["faults", "mixed-reef"],
        &["plan", "mixed-reef", "--span", "10 d"],
    ] {
        let name = args[0];
        answered(folder.path(), &[args, &["--out", name]].concat());
        let mut files = files(&folder.path().join(name));
        let manifest = files.remove(&format!("manifest-{name}.json")).expect("a manifest");
        let manifest: serde_json::Value = serde_json::from_slice(&manifest).unwrap();
        assert_eq!(manifest["command"], name);
        let listed = manifest["files"].as_object().unwrap();
        assert_eq!(listed.keys().collect::<Vec<_>>(), files.keys().collect::<Vec<_>>());
        for (file, bytes) in &files {
            let sum = Sha256::digest(bytes).iter().fold(String::new(), |text, byte| text + &format!("{byte:02x}"));
            assert_eq!(listed[file]["sha256"], sum.as_str(), "{file}");
            assert_eq!(listed[file]["bytes"], bytes.len(), "{file}");
        }
    }
}

/// What an earlier run of the command left is gone; what somebody changed since, another command's files and files that
/// are nobody's stay.
#[test]
fn stale_files_of_an_earlier_run_go_and_other_files_stay() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("o");
    fs::write(folder.path().join("tank.toml"), TANK).unwrap();
    answered(folder.path(), &["run", "tank.toml", "--out", "o"]);
    answered(folder.path(), &["sweep", "tank.toml", "--over", "change.amount=10%,20%", "--out", "o"]);
    assert!(out.join("nitrate.svg").exists() && out.join("sweep.csv").exists());
    fs::write(out.join("nitrate.png"), "edited by hand").unwrap();
    fs::write(out.join("mine.txt"), "mine").unwrap();
    fs::write(folder.path().join("tank.toml"), TANK.split("[solutes").next().unwrap()).unwrap();
    answered(folder.path(), &["run", "tank.toml", "--out", "o"]);
    assert!(!out.join("nitrate.svg").exists(), "a picture of a solute that is no more");
    for kept in ["nitrate.png", "mine.txt", "sweep.csv", "salinity.svg", "manifest-sweep.json"] {
        assert!(out.join(kept).exists(), "{kept} is gone");
    }
}

/// Names, folders and overrides that differ never share a folder.
#[test]
fn no_two_runs_share_a_folder() {
    let set = |text: &str| vec![text.to_owned()];
    let long = "x".repeat(300);
    let places = [
        place_of("a.toml", false, &[]),
        place_of("sub/a.toml", false, &[]),
        place_of("sub-a.toml", false, &[]),
        place_of("../a.toml", false, &[]),
        place_of("../../a.toml", false, &[]),
        place_of("/tmp/a.toml", false, &[]),
        place_of("mixed-reef", true, &[]),
        place_of("mixed-reef.toml", false, &[]),
        place_of("a.toml", false, &set("change.every=10d")),
        place_of("a.toml", false, &set("change.every=10 d")),
        place_of("a.toml", false, &set("change.every=14d")),
        place_of("a.toml", false, &set(&format!("title={long}"))),
        place_of("a.toml", false, &set(&format!("title={long}y"))),
        place_of("a.toml", false, &["b=1".into(), "c=2".into()]),
        place_of("a.toml", false, &set("b=1 c=2")),
        place_of("...toml", false, &[]),
        place_of("....toml", false, &[]),
        place_of(".toml", false, &[]),
    ];
    for (i, place) in places.iter().enumerate() {
        assert!(place.starts_with("output") && place.components().all(|c| c.as_os_str() != ".."), "{place:?}");
        assert_ne!(place, Path::new("output"), "{i}");
        for other in &places[..i] {
            assert!(place.to_string_lossy().to_lowercase() != other.to_string_lossy().to_lowercase(), "{place:?}");
        }
    }
    // and so it is on the disk
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("sub")).unwrap();
    for file in ["a.toml", "sub/a.toml"] {
        fs::write(folder.path().join(file), TANK).unwrap();
        answered(folder.path(), &["run", file]);
    }
    answered(folder.path(), &["run", "a.toml", "--set", "change.every=14d"]);
    for place in ["output/a", "output/sub/a", "output/a--change.every=14d"] {
        assert!(folder.path().join(place).join("summary.json").exists(), "{place}");
    }
}

/// One rule for the names of waters, doses, changes, solutes and variants.
#[test]
fn a_name_that_no_table_could_hold_is_refused_everywhere() {
    let long = "n".repeat(5000);
    for name in ["=SUM(A1)", "@cmd", "+1", "-1", "a\\u0007b", "a\\nb", "a/b", "<b>", "", long.as_str()] {
        for table in ["solutes", "waters", "doses", "changes"] {
            let body = match table {
                "solutes" => "unit = \"mg/L\"",
                "waters" => "salinity = \"35 psu\"",
                "doses" => "of = \"salt\"\namount = \"1 g\"\nevery = \"7 d\"",
                _ => "amount = \"10 %\"\nevery = \"7 d\"",
            };
            let text = format!("format = 1\n[tank]\nvolume = \"400 L\"\n[{table}.\"{name}\"]\n{body}\n");
            let message = refusal(&text);
            assert!(message.contains("name") && message.contains("help: "), "{table} {name}: {message}");
            assert!(message.len() < 4000, "{} bytes", message.len());
        }
        if !name.is_empty() {
            let folder = tempfile::tempdir().unwrap();
            let output =
                brinecast(folder.path(), &["compare", "mixed-reef", &format!("--case={name}: change.amount=20 %")]);
            assert_eq!(output.status.code(), Some(2), "{name}");
            assert!(stderr(&output).contains("name"), "{name}: {}", stderr(&output));
        }
    }
    for reserved in ["level", "salt_by_cause", "water_by_cause", "salinity", "volume", "water", "salt"] {
        let text = format!("format = 1\n[tank]\nvolume = \"400 L\"\n[solutes.{reserved}]\nunit = \"mg/L\"\n");
        assert!(refusal(&text).contains("cannot name a solute"), "{reserved}");
    }
}

/// Sixty doses every ten minutes over ten years are refused before a second has passed, by `check`, by every command
/// and by the page, with the bound.
#[test]
fn totals_are_bounded_before_any_work() {
    let folder = tempfile::tempdir().unwrap();
    let doses: Vec<String> = (0..60)
        .map(|k| format!("[doses.d{k}]\nof = \"nitrate\"\namount = \"0.001 mg/L\"\nevery = \"10 min\"\n"))
        .collect();
    let text = TANK.replace("30 d", "3400 d") + &doses.concat();
    fs::write(folder.path().join("tank.toml"), &text).unwrap();
    let begin = Instant::now();
    for args in crate::commands::COMMANDS.iter().filter(|args| args.contains(&"tank.toml")) {
        crate::commands::write_logs(folder.path());
        let output = brinecast(folder.path(), args);
        let message = stderr(&output);
        assert_eq!(output.status.code(), Some(2), "{args:?}: {message}");
        assert!(message.contains("events, more than 1000000"), "{args:?}: {message}");
    }
    let request = brinecast::app::ExploreRequest {
        width: 800,
        state: "from=file".into(),
        pinned: None,
        text: Some(text),
        moving: false,
    };
    let page = brinecast::app::explore(&request, &brinecast::model::Stop::default());
    assert!(page.unwrap_err().to_string().contains("more than 1000000"));
    // each is refused in milliseconds; a slow machine may take its time
    assert!(begin.elapsed() < Duration::from_secs(60), "{:?}", begin.elapsed());
    // many runs of a size that one may have are bounded too
    fs::write(folder.path().join("tank.toml"), TANK.replace("30 d", "36000 d")).unwrap();
    let args = [
        "ensemble",
        "tank.toml",
        "--spread",
        "change.amount=uniform(10 %, 20 %)",
        "--members",
        "100000000",
        "--set",
        "output=1 h",
    ];
    let output = brinecast(folder.path(), &args);
    assert_eq!(output.status.code(), Some(2), "{}", stderr(&output));
    assert!(
        stderr(&output).contains("--members") || stderr(&output).contains("numbers, more than"),
        "{}",
        stderr(&output)
    );
}

/// The form of nitrogen stands in every column, and a chain is counted in one.
#[test]
fn columns_of_nitrogen_say_their_form() {
    let folder = tempfile::tempdir().unwrap();
    let chain = "format = 1\nrun = \"20 d\"\n[tank]\nvolume = \"400 L\"\n[solutes.ammonia]\nstart = \"2 mg/L NH3-N\"\nbecomes = \"nitrite\"\nconversion = \"50 %/d\"\n\
                 [solutes.nitrite]\nbecomes = \"nitrate\"\nconversion = \"30 %/d\"\n[solutes.nitrate]\nstart = \"8.853287641893338 mg/L\"\n";
    fs::write(folder.path().join("chain.toml"), chain).unwrap();
    answered(folder.path(), &["run", "chain.toml", "--out", "o"]);
    let mut trace = csv::Reader::from_path(folder.path().join("o/trace.csv")).unwrap();
    let header: Vec<String> = trace.headers().unwrap().iter().skip(4).map(str::to_owned).collect();
    assert_eq!(header, ["ammonia_mg_N_per_L", "nitrite_mg_N_per_L", "nitrate_mg_N_per_L", "date"]);
    // nothing leaves: what was there is there, counted in one form (8.853 mg/L of the ion are 2 mg/L of its nitrogen)
    for row in trace.records() {
        let row = row.unwrap();
        let sum: f64 = (4..7).map(|k| row[k].parse::<f64>().unwrap()).sum();
        assert!((sum - 4.0).abs() < 1e-6, "{row:?}");
    }
    // by itself, nitrate is counted as the ion that kits show
    fs::write(folder.path().join("tank.toml"), TANK).unwrap();
    answered(folder.path(), &["run", "tank.toml", "--out", "p"]);
    let trace = fs::read_to_string(folder.path().join("p/trace.csv")).unwrap();
    assert!(trace.lines().next().unwrap().contains("nitrate_mg_per_L"), "{trace:.200}");
    // 14.0067 g of nitrogen in 17.03052 g of ammonia (IUPAC abridged weights)
    for text in ["1 mg/L NH3", "1 ppm NH3"] {
        let answer = answered(folder.path(), &["convert", text]);
        assert!(answer.contains("\nmg/L N      0.822441\n"), "{answer}");
        assert_eq!(answer.matches("\nmg/L N ").count(), 1, "{answer}");
    }
}

/// A pipe that nobody writes to is not waited for.
#[test]
#[cfg(unix)]
fn a_pipe_as_a_file_is_refused_at_once() {
    let folder = tempfile::tempdir().unwrap();
    assert!(Command::new("mkfifo").arg(folder.path().join("pipe.toml")).status().unwrap().success());
    for args in [
        &["run", "pipe.toml"][..],
        &["fit", "mixed-reef", "--log", "pipe.toml"],
        &["recipe", "pipe.toml"],
        &["station", "pipe.toml"],
    ] {
        let mut child = Command::new(env!("CARGO_BIN_EXE_brinecast"));
        child.args(args).current_dir(folder.path()).stdout(Stdio::null()).stderr(Stdio::piped());
        let mut child = child.spawn().unwrap();
        let begin = Instant::now();
        while child.try_wait().unwrap().is_none() {
            if begin.elapsed() > Duration::from_secs(20) {
                child.kill().unwrap();
                panic!("{args:?} waits");
            }
            std::thread::sleep(Duration::from_millis(10));
        }
        let output = child.wait_with_output().unwrap();
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        assert!(stderr(&output).contains("not a file"), "{args:?}: {}", stderr(&output));
    }
}

/// What a killed run left is taken away by the next one; what a living one is writing is not.
#[test]
#[cfg(target_os = "linux")]
fn leftovers_of_a_killed_run_are_taken_away() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("o");
    fs::create_dir(&out).unwrap();
    let mut child = Command::new("sleep").arg("60").spawn().unwrap();
    let (living, mine) = (child.id(), std::process::id());
    let mut gone = Command::new("true").spawn().unwrap();
    gone.wait().unwrap();
    let dead = gone.id();
    for pid in [living, mine, dead] {
        fs::write(out.join(format!(".brinecast-{pid}-abcdef")), "half").unwrap();
    }
    fs::write(out.join(".brinecast-notes"), "mine").unwrap();
    answered(folder.path(), &["run", "mixed-reef", "--out", "o"]);
    let left: Vec<String> = files(&out).into_keys().filter(|name| name.starts_with('.')).collect();
    child.kill().unwrap();
    child.wait().unwrap();
    assert!(!left.contains(&format!(".brinecast-{dead}-abcdef")), "{left:?}");
    for kept in [format!(".brinecast-{living}-abcdef"), format!(".brinecast-{mine}-abcdef"), ".brinecast-notes".into()]
    {
        assert!(left.contains(&kept), "{kept} is gone: {left:?}");
    }
}

/// Quiet is quiet; a gallon's file is answered in gallons; a manual page is called by what is typed.
#[test]
fn the_terminal_says_what_it_was_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let cautions = |args: &[&str]| answered(folder.path(), args).matches("Caution").count();
    for command in ["run", "faults", "plan"] {
        assert_eq!(cautions(&[command, "mixed-reef"]), 1, "{command}");
        assert!(cautions(&[command, "mixed-reef", "--full"]) >= 3, "{command}");
        assert_eq!(cautions(&[command, "mixed-reef", "-q"]), 0, "{command}");
    }
    super::logs::write_demo_logs(folder.path());
    let metric = include_str!("../../scenarios/mixed-reef.toml");
    let us = metric.replacen("format = 1\n", "format = 1\nunits = \"us\"\n", 1);
    assert_ne!(metric, us);
    fs::write(folder.path().join("us.toml"), us).unwrap();
    let fit = answered(folder.path(), &["fit", "us.toml", "--log", "my-log.csv"]);
    assert!(fit.contains("US gal/d") && !fit.contains(" L/d"), "{fit}");
    answered(folder.path(), &["man", "--out", "pages"]);
    let page = fs::read_to_string(folder.path().join("pages/brinecast-sweep.1")).unwrap();
    assert!(page.contains("\\fBbrinecast sweep\\fR") || page.contains("brinecast sweep"), "{page:.400}");
    assert!(!page.contains("\\fBsweep\\fR"), "{page:.400}");
}

/// Times of a plan are those of a kitchen clock, and what waits on pH is a range with its scale.
#[test]
fn times_of_work_are_quarters_of_an_hour() {
    let folder = tempfile::tempdir().unwrap();
    let plan = answered(
        folder.path(),
        &["plan", "mixed-reef", "--span", "30 d", "--purifier", "75gpd", "--heater", "300 W", "--full"],
    );
    let times =
        plan.lines().filter_map(|line| line.get(..16)).filter(|t| t.starts_with("2026-") && t.as_bytes()[13] == b':');
    let odd: Vec<&str> = times.clone().filter(|t| !["00", "15", "30", "45"].contains(&&t[14..16])).collect();
    assert!(times.count() > 10 && odd.is_empty(), "{odd:?}\n{plan}");
    let batch = answered(folder.path(), &["batch", "--finished", "60 L", "--full"]);
    assert!(batch.contains("pH below 8.4 NBS after") && batch.contains(" h with a pump"), "{batch}");
}

/// Several files: each is what it is by itself, one that is wrong stops none of the others and shows in the exit code, and
/// two that would share a folder are told apart.
#[test]
fn several_files_are_each_what_they_are_alone() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let names = ["mixed-reef", "nano-by-hand", "dry-winter"];
    for (command, json) in [("run", "summary.json"), ("plan", "plan.json")] {
        let text = answered(here, &[&[command], &names[..], &["--out", "all"]].concat());
        assert_eq!(text.lines().filter(|l| names.iter().any(|n| l.starts_with(n))).count(), 3, "{text}");
        for name in names {
            answered(here, &[command, name, "--out", "one"]);
            let [all, one] =
                [here.join("all").join(name), here.join("one")].map(|f| std::fs::read(f.join(json)).unwrap());
            assert_eq!(all, one, "{command} {name}");
        }
        let lines = answered(here, &[&[command], &names[..], &["--out", "all", "-q", "--format", "json"]].concat());
        let parsed: Vec<serde_json::Value> = lines.lines().map(|l| serde_json::from_str(l).unwrap()).collect();
        assert_eq!(parsed.len(), 3);
        assert!(parsed.iter().zip(names).all(|(v, n)| v["file"] == n && v[command]["scenario"] == n), "{lines}");
    }
    let output = brinecast(here, &["run", "mixed-reef", "no-such", "dry-winter", "--out", "some"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("no-such") && stdout(&output).contains("1 of 3 could not be done"));
    assert!(here.join("some/dry-winter/summary.json").exists());
    let output = brinecast(here, &["run", "mixed-reef", "mixed-reef", "--out", "twice"]);
    assert!(stderr(&output).contains("would overwrite those of another one"), "{}", stderr(&output));
    let output = brinecast(here, &["run", "mixed-reef", "dry-winter", "--check", "--out", "c"]);
    assert_eq!(output.status.code(), Some(1), "a band is broken");
    let output = brinecast(here, &["run", "mixed-reef", "dry-winter", "--write-state", "x.json"]);
    assert!(stderr(&output).contains("are for one scenario"));
}
