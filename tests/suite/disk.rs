//! Each touch of the disk fails once: whichever it is, there is one clear error, the old results are there, all of them and
//! whole, or the new ones, and nothing lies about.
//!
//! In builds with debug assertions `BRINECAST_DISK_FAILS_AT=n` makes the n-th touch fail: making a folder or a file, opening,
//! reading, writing, syncing, renaming, linking, removing.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use crate::cli::stderr;
use crate::commands::{COMMANDS, TANK, folder};

/// Commands that write more than their folder, or none.
const OTHERS: [&[&str]; 3] = [
    &["run", "tank.toml", "--write-state", "state.json", "--out", "out"],
    &["ensemble", "tank.toml", "--day-to-day", "20 %, 2 d", "--members", "10", "--keep-members", "--out", "out"],
    &["new", "another"],
];

/// Most touches of a file: it is made, written, synced; what it replaces is linked; it is renamed; the link is removed.
const OF_A_FILE: u64 = 6;
/// Most touches besides: files that are read, the folder, the file that tries whether it can be written.
const BESIDES: u64 = 10;

fn run(here: &Path, args: &[&str], fails_at: Option<u64>) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_brinecast"));
    command.args(args).current_dir(here);
    command.envs(fails_at.map(|n| ("BRINECAST_DISK_FAILS_AT", n.to_string())));
    command.output().unwrap()
}

/// All files below a folder, with their bytes.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut all = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap().map(Result::unwrap) {
        let name = entry.file_name().into_string().unwrap();
        if entry.file_type().unwrap().is_dir() {
            all.insert(format!("{name}/"), Vec::new());
            all.extend(files(&entry.path()).into_iter().map(|(below, bytes)| (format!("{name}/{below}"), bytes)));
        } else {
            all.insert(name, fs::read(entry.path()).unwrap());
        }
    }
    all
}

/// Puts a folder back to what it held.
fn put_back(here: &Path, held: &BTreeMap<String, Vec<u8>>) {
    for entry in fs::read_dir(here).unwrap().map(Result::unwrap) {
        let path = entry.path();
        if path.is_dir() { fs::remove_dir_all(path) } else { fs::remove_file(path) }.unwrap();
    }
    for (name, bytes) in held {
        let path = here.join(name);
        if name.ends_with('/') { fs::create_dir(path) } else { fs::write(path, bytes) }.unwrap();
    }
}

/// Fails touches of a command, one a run, every so many from `first` on, over older results or with none; gives how many
/// failed.
fn fail(args: &[&str], over_old: bool, first: u64, runs: u64) -> usize {
    let place = folder(&TANK.replace("300 L", "320 L"));
    let here = place.path();
    if over_old {
        assert!(run(here, args, None).status.success(), "{args:?}");
        fs::write(here.join("tank.toml"), TANK).unwrap();
    }
    let old = files(here);
    let done = run(here, args, None);
    assert!(done.status.success(), "{args:?}: {}", stderr(&done));
    let new = files(here);
    let most = OF_A_FILE * new.len() as u64 + BESIDES;
    let step = most.div_ceil(runs).max(1);
    let mut failed = 0;
    for n in (1 + first % step..=most).step_by(usize::try_from(step).unwrap()) {
        put_back(here, &old);
        let output = run(here, args, Some(n));
        let (left, message) = (files(here), stderr(&output));
        let without_dots = |all: &BTreeMap<String, Vec<u8>>| {
            all.iter()
                .filter(|(name, _)| !name.starts_with('.') && !name.contains("/."))
                .map(|(n, b)| (n.clone(), b.clone()))
                .collect::<Vec<_>>()
        };
        if output.status.success() {
            // Nobody made that touch, or it let go of what had been replaced.
            assert!(without_dots(&left) == without_dots(&new), "{args:?}, touch {n}: {message}");
            continue;
        }
        failed += 1;
        assert!(left == old, "{args:?}, touch {n}: {message}\nleft {:?}\nold {:?}", left.keys(), old.keys());
        assert_eq!(output.status.code(), Some(2), "{args:?}, touch {n}: {message}");
        assert_eq!(message.matches("error: ").count(), 1, "{args:?}, touch {n}: {message}");
        assert!(message.contains("as asked for"), "{args:?}, touch {n}: {message}");
    }
    failed
}

/// Every command that takes `--out`, into `out`; and the others.
fn writers() -> Vec<Vec<&'static str>> {
    let takes_out = |args: &&&[&str]| !["check", "schema", "man"].contains(&args[0]);
    let in_folder = COMMANDS.iter().filter(takes_out).map(|args| [args, &["--out", "out"][..]].concat());
    in_folder.chain(OTHERS.iter().map(|args| args.to_vec())).collect()
}

#[test]
fn whichever_touch_of_the_disk_fails_the_old_results_are_whole() {
    for (k, args) in writers().iter().enumerate() {
        // Other touches of each command; what one command does to its files all of them do.
        let over_old = args[0] != "new" && k % 3 > 0;
        assert!(fail(args, over_old, 7 * k as u64, 4) > 0, "{args:?}");
    }
}

/// All of them.
#[test]
#[ignore = "four to five minutes: the gate tries some touches of every command"]
fn every_touch_of_the_disk_may_fail() {
    let mut touches = 0;
    for args in writers() {
        for over_old in [true, false] {
            let failed = if over_old && args[0] == "new" { 0 } else { fail(&args, over_old, 0, u64::MAX) };
            assert!(failed > 0 || args[0] == "new", "{args:?}");
            touches += failed;
        }
    }
    // As many as there were when this was written, or more.
    assert!(touches > 1000, "only {touches} touches");
}
