//! Tries mutants: `brinecast-tried MUTANTS FOLDER JOBS SECONDS PROGRAM...`, in the copy that `brinecast-mutants` wrote.
//!
//! `MUTANTS` is the list that `brinecast-mutants` printed, a `PROGRAM` what `cargo test --no-run` built. Each test is first run
//! by itself without a mutant: how long it takes, and which mutants it comes by. Then each mutant is tried against the tests
//! that come by it, the quick ones first, until one fails or takes `SECONDS` and five times its own time more. `FOLDER` keeps what is known (`tests.tsv`,
//! `tried.tsv`), so that it can be stopped and goes on where it was.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Mutex;
use std::time::Instant;

/// A test: its program, its name, its seconds and the mutants that it comes by.
struct Test {
    program: String,
    name: String,
    seconds: f64,
    met: BTreeSet<usize>,
}

/// Whether a test passes with these variables, and the seconds it took.
fn passes(program: &str, name: &str, seconds: f64, variables: &[(&str, String)]) -> (bool, f64) {
    let start = Instant::now();
    let status = Command::new("timeout")
        .args(["-k", "1", &format!("{seconds:.0}"), program, name, "--exact"])
        .envs(variables.iter().map(|(k, v)| (*k, v)))
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .expect("a program");
    (status.success(), start.elapsed().as_secs_f64())
}

fn add(file: &Mutex<PathBuf>, line: &str) {
    let path = file.lock().expect("a lock");
    let mut file = fs::OpenOptions::new().create(true).append(true).open(&*path).expect("a file");
    writeln!(file, "{line}").expect("a line");
}

/// Does the work for each of the list, so many at a time.
fn each<T: Send>(jobs: usize, list: Vec<T>, work: impl Fn(T) + Sync) {
    let queue = Mutex::new(list.into_iter());
    std::thread::scope(|scope| {
        for _ in 0..jobs {
            scope.spawn(|| {
                loop {
                    let next = queue.lock().expect("a lock").next();
                    let Some(next) = next else { return };
                    work(next);
                }
            });
        }
    });
}

/// The lines of a file of ours, each in its columns.
fn rows(path: &Path) -> Vec<Vec<String>> {
    let text = fs::read_to_string(path).unwrap_or_default();
    text.lines().map(|l| l.split('\t').map(str::to_owned).collect()).collect()
}

/// Runs each test that is not known yet once.
fn know(programs: &[String], folder: &Path, jobs: usize) -> Vec<Test> {
    let file = folder.join("tests.tsv");
    let known: BTreeSet<(String, String)> = rows(&file).into_iter().map(|r| (r[0].clone(), r[1].clone())).collect();
    let mut new = Vec::new();
    for program in programs {
        let list = Command::new(program).args(["--list", "--format", "terse"]).output().expect("a program");
        let ignored =
            Command::new(program).args(["--list", "--format", "terse", "--ignored"]).output().expect("a program");
        let names = |bytes: &[u8]| {
            String::from_utf8_lossy(bytes)
                .lines()
                .filter_map(|l| l.strip_suffix(": test"))
                .map(str::to_owned)
                .collect::<BTreeSet<_>>()
        };
        let names = &names(&list.stdout) - &names(&ignored.stdout);
        new.extend(names.into_iter().map(|n| (program.clone(), n)).filter(|n| !known.contains(n)));
    }
    let to = Mutex::new(file.clone());
    each(jobs, new, |(program, name)| {
        let met = folder.join(format!("met-{}", name.replace(':', "_")));
        let (passed, seconds) = passes(&program, &name, 900.0, &[("MUTANTS_MET", met.display().to_string())]);
        let text = fs::read_to_string(&met).unwrap_or_default();
        let ids: BTreeSet<&str> = text.lines().collect();
        let ids: Vec<&str> = ids.into_iter().collect();
        let word = if passed { "passes" } else { "fails" };
        add(&to, &format!("{program}\t{name}\t{seconds:.2}\t{word}\t{}", ids.join(" ")));
        let _ = fs::remove_file(met);
    });
    let passed = rows(&file).into_iter().filter(|r| r[3] == "passes");
    passed
        .map(|r| Test {
            program: r[0].clone(),
            name: r[1].clone(),
            seconds: r[2].parse().expect("seconds"),
            met: r[4].split_whitespace().map(|id| id.parse().expect("a number")).collect(),
        })
        .collect()
}

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let mutants: Vec<usize> = rows(Path::new(&args[0])).iter().map(|r| r[0].parse().expect("a number")).collect();
    let folder = PathBuf::from(&args[1]);
    let (jobs, seconds): (usize, f64) = (args[2].parse().expect("a count"), args[3].parse().expect("seconds"));
    fs::create_dir_all(&folder).expect("a folder");
    let mut tests = know(&args[4..], &folder, jobs);
    tests.sort_by(|a, b| a.seconds.total_cmp(&b.seconds));
    let file = folder.join("tried.tsv");
    let done: BTreeSet<usize> = rows(&file).iter().map(|r| r[0].parse().expect("a number")).collect();
    let to = Mutex::new(file.clone());
    each(jobs, mutants.into_iter().filter(|id| !done.contains(id)).collect(), |id| {
        let near: Vec<&Test> = tests.iter().filter(|t| t.met.contains(&id)).collect();
        let by = near
            .iter()
            .find(|t| !passes(&t.program, &t.name, 5.0 * t.seconds + seconds, &[("MUTANT", id.to_string())]).0);
        let word = match by {
            Some(test) => format!("caught\t{}", test.name),
            None if near.is_empty() => "not met\t".to_owned(),
            None => format!("missed\t{} tests", near.len()),
        };
        add(&to, &format!("{id}\t{word}"));
    });
    let mut count: BTreeMap<String, usize> = BTreeMap::new();
    for row in rows(&file) {
        *count.entry(row[1].clone()).or_default() += 1;
    }
    println!("{count:?}");
}
