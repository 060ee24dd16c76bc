//! Laws over all commands: none may be forgotten, none panics, no answer holds a NaN, none is lost without a word.
//! The scenarios are random and invented.

use std::fs::{self, File, OpenOptions};
use std::path::Path;
use std::process::{Command, Output, Stdio};

use proptest::prelude::*;

use crate::cli::{brinecast, stderr, stdout};
use crate::random::{Breadth, Writing, scenario};
use crate::support::cases;

/// Every command that answers, with what it needs. `tank.toml` is the scenario under test, of 20 days or so.
pub(crate) const COMMANDS: [&[&str]; 28] = [
    &["run", "tank.toml"],
    &["compare", "tank.toml", "--case", "drier: evaporation.rate=1 L/d"],
    &["sweep", "tank.toml", "--over", "evaporation.rate=0.1..0.3 L/d:2", "--measure", "salinity.end"],
    &["solve", "tank.toml", "--for", "evaporation.rate=0.1..0.3 L/d", "--so-that", "salinity.end = 11 psu"],
    &["choose", "tank.toml", "--over", "change.amount=20%,40%", "--members", "20"],
    &["ensemble", "tank.toml", "--spread", "evaporation.rate=uniform(0.1 L/d, 0.2 L/d)", "--members", "20"],
    &[
        "sensitivity",
        "tank.toml",
        "--spread",
        "evaporation.rate=uniform(0.1 L/d, 0.2 L/d)",
        "--spread",
        "tank.salinity=uniform(10 psu, 12 psu)",
        "--measure",
        "salinity.end",
        "--samples",
        "4",
    ],
    &["faults", "tank.toml"],
    &["correct", "tank.toml", "--reads", "15 psu", "--salinity", "14 psu"],
    &["rescue", "tank.toml", "--solute", "copper", "--reads", "60 ug/L", "--down-to", "3 ug/L", "--store", "20 L"],
    &["drift", "tank.toml"],
    &["plan", "tank.toml", "--span", "10 d"],
    &["station", "--members", "20", "--set", "run=20 d"],
    &["away", "tank.toml", "--span", "5 d", "--members", "20"],
    &["log", "log.csv", "tank.toml"],
    &["fit", "tank.toml", "--log", "log.csv"],
    &["now", "tank.toml", "--log", "log.csv", "--members", "20"],
    &["recipe", "batches.csv", "--finished", "60 L"],
    &["batch", "--finished", "60 L", "--ready-by", "2026-03-07 10:00", "--heater", "300 W", "--purifier", "75 gpd"],
    &["adjust", "--volume", "120 L", "--reads", "36.2 psu", "--salinity", "35 psu", "--vessel", "121 L"],
    &["treat", "tank.toml", "--reads", "15 psu", "--salinity", "12 psu", "--hold", "7 d"],
    &["acclimate", "--volume", "2 L", "--reads", "31 psu", "--salinity", "35 psu"],
    &["mix-to", "tank.toml", "--salinity", "20 psu"],
    &["check", "tank.toml"],
    &["convert", "35 psu"],
    &["properties", "--salinity", "30 psu..40 psu:3"],
    &["schema"],
    &["man"],
];

/// Commands that have no answer of their own to put on stdout: a page, a file, a script, a help.
const OTHERS: [&str; 8] = ["explore", "new", "completions", "help", "guide", "show", "list", "keys"];

/// What the commands read besides the scenario: a log of the tank and one of batches, both invented.
pub(crate) fn write_logs(folder: &Path) {
    let weekly = (0..12).map(|k| format!("{},{}\n", 2 * k, 34.6 + 0.1 * f64::from(k % 3))).collect::<Vec<_>>().concat();
    fs::write(folder.join("log.csv"), "time_d,salinity_psu\n".to_owned() + &weekly).unwrap();
    let batches =
        (0..6).map(|k| format!("60,{},{}\n", 2300 + k, 34.6 + 0.1 * f64::from(k % 3))).collect::<Vec<_>>().concat();
    fs::write(folder.join("batches.csv"), "fresh_L,salt_g,salinity_psu\n".to_owned() + &batches).unwrap();
}

/// A small tank that every command takes.
pub(crate) const TANK: &str = "format = 1\nrun = \"20 d\"\n[tank]\nvolume = \"300 L\"\n[evaporation]\nrate = \"3 L/d\"\n[top_off]\nby = \"float\"\n\
                    [solutes.nitrate]\nload = \"0.5 mg/L/d\"\n[change]\namount = \"15 %\"\nevery = \"7 d\"\n[bands]\nnitrate = \"below 40 mg/L\"\n";

pub(crate) fn folder(scenario: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("tank.toml"), scenario).unwrap();
    write_logs(folder.path());
    folder
}

/// A word of a text that is no number where a number should be.
fn no_number(text: &str) -> Option<&str> {
    let words = text.split(|c: char| !c.is_alphanumeric());
    words.into_iter().find(|w| ["nan", "inf", "infinity"].contains(&w.to_lowercase().as_str()))
}

/// Every file below a folder, with its text where it is one.
fn texts(folder: &Path) -> Vec<(String, String)> {
    let mut all = Vec::new();
    for entry in fs::read_dir(folder).into_iter().flatten() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            all.extend(texts(&path));
        } else if let Ok(text) = fs::read_to_string(&path) {
            all.push((path.display().to_string(), text));
        }
    }
    all
}

/// Answered or refused in words; never a panic, never a NaN in any file or on any screen.
fn sound(folder: &Path, args: &[&str], scenario: &str) -> Result<(), TestCaseError> {
    let output = brinecast(folder, args);
    let (out, err) = (stdout(&output), stderr(&output));
    let code = output.status.code();
    prop_assert!(matches!(code, Some(0 | 2)), "{:?} ends with {:?}\n{}\n{}", args, code, err, scenario);
    if code == Some(2) {
        prop_assert!(err.starts_with("error: ") && !err.contains("panicked"), "{:?}\n{}\n{}", args, err, scenario);
    }
    for (name, text) in
        texts(&folder.join("output")).into_iter().chain([("stdout".into(), out), ("stderr".into(), err)])
    {
        let word = no_number(&text);
        prop_assert!(word.is_none(), "{:?}: {:?} in {}\n{}", args, word, name, scenario);
    }
    Ok(())
}

/// The table above is whole: a new command is in one of the two lists or this fails.
#[test]
fn every_command_is_in_the_table() {
    let folder = tempfile::tempdir().unwrap();
    let help = stdout(&brinecast(folder.path(), &["--help"]));
    let list = help.split("Commands:").nth(1).unwrap().split("\n\n").next().unwrap();
    let names = list.lines().filter(|l| l.starts_with("  ") && !l.starts_with("   "));
    let names: Vec<&str> = names.filter_map(|l| l.split_whitespace().next()).collect();
    assert!(names.len() >= 20, "{names:?}");
    for name in &names {
        let known = OTHERS.contains(name) || COMMANDS.iter().any(|args| args[0] == *name);
        assert!(known, "`{name}` is in no law over all commands");
    }
    assert_eq!(names.len(), OTHERS.len() + COMMANDS.len(), "{names:?}");
}

/// A plain tank is answered by each of them: the laws below are about answers, not refusals.
#[test]
fn every_command_answers_a_plain_tank() {
    let folder = folder(TANK);
    for args in COMMANDS {
        let output = brinecast(folder.path(), args);
        assert_eq!(output.status.code(), Some(0), "{args:?}: {}", stderr(&output));
        assert!(!output.stdout.is_empty(), "{args:?}");
    }
}

proptest! {
    #![proptest_config(cases(16))]

    #[test]
    fn every_command_answers_or_refuses_any_scenario(random in scenario(Breadth::All)) {
        let text = random.text(Writing::PLAIN);
        let folder = folder(&text);
        for args in COMMANDS.iter().filter(|args| args.contains(&"tank.toml")) {
            sound(folder.path(), args, &text)?;
        }
    }
}

/// A settled cycle of nothing was solved as a block of no rows: top-off, change, exchange and fill in all combinations,
/// in a tank without a solute.
#[test]
fn a_tank_without_solutes_is_answered_by_every_command() {
    let (top_offs, fills) = (["none", "hand", "float"], ["mark", "measured"]);
    let mut seen = 0;
    for (k, by) in top_offs.into_iter().enumerate() {
        for (j, more) in ["", "[exchange]\nout = \"20 L/d\"\nin = \"24 L/d\"\n", "CHANGE"].into_iter().enumerate() {
            let fill = fills[(k + j) % 2];
            let change = format!("[change]\namount = \"10 %\"\nevery = \"5 d\"\nfill = \"{fill}\"\n");
            let rate = if j == 1 { "0 L/d" } else { "2 L/d" };
            let text = format!(
                "format = 1\nrun = \"15 d\"\n[tank]\nvolume = \"300 L\"\n[evaporation]\nrate = \"{rate}\"\n[top_off]\nby = \"{by}\"\n{}",
                more.replace("CHANGE", &change)
            );
            let folder = folder(&text);
            for args in COMMANDS.iter().filter(|args| args.contains(&"tank.toml")) {
                sound(folder.path(), args, &text).unwrap();
                seen += 1;
            }
        }
    }
    assert!(seen > 100);
}

/// The law above sees what it should see.
#[test]
fn a_nan_is_seen() {
    assert_eq!(no_number("salt NaN g"), Some("NaN"));
    assert_eq!(no_number("[inf, 3]"), Some("inf"));
    assert_eq!(no_number("information on nanograms"), None);
}

fn to(folder: &Path, args: &[&str], stdout: Stdio) -> Output {
    Command::new(env!("CARGO_BIN_EXE_brinecast")).args(args).current_dir(folder).stdout(stdout).output().unwrap()
}

/// Exit 0 means that the answer arrived.
#[test]
#[cfg(target_os = "linux")]
fn a_lost_answer_is_an_error_in_every_command() {
    let folder = folder(TANK);
    for args in
        COMMANDS.iter().copied().chain([&["--help"][..], &["run", "--help"], &["completions", "bash"], &["--version"]])
    {
        let full = OpenOptions::new().write(true).open("/dev/full").unwrap();
        let output = to(folder.path(), args, full.into());
        let said = stderr(&output);
        assert_eq!(output.status.code(), Some(2), "{args:?}: {said}");
        assert!(said.contains("the answer could not be written"), "{args:?}: {said}");
        let closed = Command::new("sh")
            .args(["-c", "exec \"$0\" \"$@\" >&-", env!("CARGO_BIN_EXE_brinecast")])
            .args(args)
            .current_dir(folder.path())
            .output()
            .unwrap();
        let said = stderr(&closed);
        assert_eq!(closed.status.code(), Some(2), "{args:?}: {said}");
        assert!(said.contains("the answer could not be written"), "{args:?}: {said}");
        // and one that nobody wants is no loss
        let null = File::create("/dev/null").unwrap();
        assert_eq!(to(folder.path(), args, null.into()).status.code(), Some(0), "{args:?}");
    }
}
