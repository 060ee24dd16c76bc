//! TankState in the middle: killed at random times, given no room, or no folder. Every output is the old file or the new
//! one, whole, and what is left over is a dot-named temporary file. `BRINECAST_KILLS=200 cargo test crash` strikes more.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

use crate::cli::{brinecast, stderr};

/// Commands that write a folder, from quick to slow, each with what changes its answer.
const COMMANDS: [&[&str]; 3] = [
    &["run", "uncertain-reef", "--set", "output=2 h"],
    &["sweep", "uncertain-reef", "--over", "change.amount=5%..50%:10"],
    &["ensemble", "uncertain-reef", "--members", "40", "--keep-members"],
];

fn command(folder: &Path, args: &[&str], old: bool) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_brinecast"));
    let load = if old { "solutes.nitrate.load=0.5 mg/L/d" } else { "solutes.nitrate.load=0.9 mg/L/d" };
    command.args(args).args(["--set", load, "--out", "out", "--quiet"]).current_dir(folder);
    command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    command
}

/// Every file of the folder with its bytes.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let Ok(entries) = fs::read_dir(folder) else { return BTreeMap::new() };
    let read = |e: fs::DirEntry| (e.file_name().into_string().unwrap(), fs::read(e.path()).unwrap());
    entries.map(|e| read(e.unwrap())).collect()
}

/// Kills a command over its own older results again and again; gives how many kills struck a running program.
fn strike(args: &[&str], kills: u32) -> u32 {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let whole = |old: bool| {
        assert!(command(folder.path(), args, old).status().unwrap().success(), "{args:?}");
        files(&out)
    };
    // the quicker of two, so that a machine busy with other things does not make the kills come late
    let mut length = Duration::MAX;
    let [new, old] = [false, true].map(|old| {
        let begin = Instant::now();
        let files = whole(old);
        length = length.min(begin.elapsed());
        files
    });
    assert!(new.len() >= 5 && new.keys().eq(old.keys()), "{:?}", new.keys());
    assert!(new.iter().any(|(name, bytes)| old[name] != *bytes), "old and new cannot be told apart");
    let mut struck = 0;
    for kill in 0..kills {
        // spread over the run and somewhat past its end, by the golden ratio: no two alike, and none of them by luck
        let share = (0.618034 * f64::from(kill + 1)).fract() * 1.1;
        let mut child = command(folder.path(), args, kill % 2 == 1).spawn().unwrap();
        std::thread::sleep(Duration::from_secs_f64(length.as_secs_f64() * share));
        child.kill().unwrap();
        struck += u32::from(!child.wait().unwrap().success());
        for (name, bytes) in files(&out) {
            if name.starts_with('.') {
                continue;
            }
            let is = |set: &BTreeMap<String, Vec<u8>>| set.get(&name) == Some(&bytes);
            assert!(is(&old) || is(&new), "{args:?}, kill {kill}: {name} is neither the old nor the new file");
        }
    }
    // what a kill left lying about is in nobody's way
    assert_eq!(without_dots(whole(false)), without_dots(new), "{args:?}");
    struck
}

fn without_dots(files: BTreeMap<String, Vec<u8>>) -> BTreeMap<String, Vec<u8>> {
    files.into_iter().filter(|(name, _)| !name.starts_with('.')).collect()
}

#[test]
fn a_kill_at_any_time_leaves_old_or_new_files_whole() {
    let kills: u32 = std::env::var("BRINECAST_KILLS").ok().and_then(|n| n.parse().ok()).unwrap_or(12);
    let each = kills.div_ceil(3);
    let struck: u32 = COMMANDS.iter().map(|args| strike(args, each)).sum();
    // a test in which nothing is struck would hold for any program
    assert!(struck >= kills.div_ceil(6), "only {struck} of {kills} kills came before the end");
}

/// What every refusal to write has: one message, the place, what to do, exit 2.
fn refused(output: &Output, place: &str) {
    let message = stderr(output);
    assert_eq!(output.status.code(), Some(2), "{message}");
    assert!(message.starts_with("error: ") && message.matches("error: ").count() == 1, "{message}");
    assert!(message.contains("cannot be written") && message.contains(place) && message.contains("--out"), "{message}");
    assert!(output.stdout.is_empty());
}

/// A user of all rights writes through permissions, so the folder is one that cannot be made by anybody.
#[test]
#[cfg(target_os = "linux")]
fn a_folder_that_cannot_be_written_is_one_clear_error() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("file"), "mine").unwrap();
    for out in ["/proc/brinecast-out", "/proc/self", "file/below", "file"] {
        for args in COMMANDS {
            let args = [args, &["--out", out]].concat();
            refused(&brinecast(folder.path(), &args), out);
        }
    }
    assert_eq!(fs::read_to_string(folder.path().join("file")).unwrap(), "mine");
    assert_eq!(files(folder.path()).len(), 1, "something was made");
}

/// A shell's limit on the size of a file stands for a full disk: each write past 16 blocks (8 or
/// 16 kB, by the shell) fails, as it does without room.
#[test]
#[cfg(target_os = "linux")]
fn a_full_disk_is_one_clear_error_and_leaves_no_half_file() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let run = |limit: &str| {
        let script = format!("trap '' XFSZ; {limit} exec \"$0\" run uncertain-reef --out out --quiet \"$@\"");
        let mut shell = Command::new("sh");
        shell.args(["-c", &script, env!("CARGO_BIN_EXE_brinecast"), "--set", "output=2 h"]);
        shell.current_dir(folder.path()).output().unwrap()
    };
    assert!(run("").status.success());
    let old = files(&out);
    assert!(old.values().any(|bytes| bytes.len() > 16 << 10), "no file is past the limit");
    refused(&run("ulimit -f 16;"), "out/");
    assert_eq!(files(&out), old, "a half file, or a temporary one, is left");
}
