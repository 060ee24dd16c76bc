//! The same bytes on another kind of processor: what the system's library of functions finds out of it is switched off, so that
//! it takes its plain ways. Results that hang on those functions would differ in their last bits.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;

use crate::commands::{TANK, folder};

/// The switches of the system's library (its manual, "Hardware Capability Tunables").
#[cfg(target_os = "linux")]
const PLAIN: (&str, &str) = ("GLIBC_TUNABLES", "glibc.cpu.hwcaps=-AVX2,-FMA,-FMA4,-AVX512F");

/// What a command writes and prints.
#[cfg(target_os = "linux")]
fn bytes(here: &Path, args: &[&str], plain: bool) -> BTreeMap<String, Vec<u8>> {
    let _ = fs::remove_dir_all(here.join("out"));
    let mut command = Command::new(env!("CARGO_BIN_EXE_brinecast"));
    command.args(args).args(["--out", "out"]).current_dir(here);
    command.envs(plain.then_some(PLAIN));
    let output = command.output().unwrap();
    assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
    let read = |e: fs::DirEntry| (e.file_name().into_string().unwrap(), fs::read(e.path()).unwrap());
    let mut all: BTreeMap<_, _> = fs::read_dir(here.join("out")).unwrap().map(|e| read(e.unwrap())).collect();
    all.insert("stdout".into(), output.stdout);
    all
}

#[test]
#[cfg(target_os = "linux")]
fn another_processor_gives_the_same_bytes() {
    let place = folder(TANK);
    for args in [
        &["run", "mixed-reef"][..],
        &["run", "laboratory-raceway"],
        &["ensemble", "uncertain-reef", "--members", "200", "--keep-members"],
        &["ensemble", "dry-winter", "--day-to-day", "25 %, 3 d", "--members", "60", "--keep-members"],
        &["sensitivity", "uncertain-reef", "--samples", "16"],
        &["fit", "tank.toml", "--log", "log.csv"],
        &["now", "tank.toml", "--log", "log.csv", "--members", "50"],
        &["away", "mixed-reef", "--members", "100"],
        &["station", "corner-shop", "--members", "50"],
        &["batch", "--finished", "60 L"],
    ] {
        let [fast, plain] = [false, true].map(|plain| bytes(place.path(), args, plain));
        assert!(fast.keys().eq(plain.keys()), "{args:?}");
        let differ: Vec<&String> =
            fast.iter().filter(|(name, bytes)| plain[*name] != **bytes).map(|(n, _)| n).collect();
        assert!(differ.is_empty(), "{args:?}: {differ:?}");
    }
}
