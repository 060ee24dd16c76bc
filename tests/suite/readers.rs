//! Every reader of what comes from outside, each as one function of bytes: it refuses with words or keeps its law, and
//! never panics. The coverage-guided search (`tests/fuzz`) and the replay of what it found (`corpus`) both call these.

use std::path::{Path, PathBuf};

use brinecast::app::{
    self, AppError, BUILT_IN, DateOrder, ExploreRequest, LogReading, explore, fit, from_lab, load_station, load_text,
    merge, read_batch_log, read_state, read_tank_log, run_on,
};
use brinecast::engine::run;
use brinecast::model::Stop;

/// A reader of bytes.
pub(crate) type Reader = fn(&[u8]);

/// The readers by the names of their folders in `tests/corpus`.
pub(crate) const READERS: [(&str, Reader); 9] = [
    ("document", document),
    ("overrides", overrides),
    ("station", station),
    ("tank_log", tank_log),
    ("batch_log", batch_log),
    ("lab_sheet", lab_sheet),
    ("state", state),
    ("members", members),
    ("page", page),
];

/// Events that a case may have and still be run: more would test the engine's patience, not a reader.
const FEW_EVENTS: f64 = 3_000.0;
/// Days of a log that is fitted too: years of it take seconds.
const LONG_D: f64 = 400.0;
/// Numbers of the table of such a run.
const FEW_NUMBERS: f64 = 60_000.0;

fn helps(error: &AppError) {
    let message = error.to_string();
    assert!(message.starts_with("error: ") && message.len() > 12, "no help: {message:?}");
}

/// A file that is there only while a case is tried.
fn with_file(name: &str, bytes: &[u8], then: impl FnOnce(PathBuf)) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join(name);
    std::fs::write(&path, bytes).expect("a file");
    then(path);
}

fn tank(name: &str) -> app::Loaded {
    app::load(name, &["run=30 d".into()]).expect("a built-in tank")
}

/// A scenario: told back it means the same, and where it is small every balance of its run closes.
pub(crate) fn document(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    taken(text, &[]);
}

/// A first line that names a built-in tank by its number, then one override a line.
pub(crate) fn overrides(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let mut lines = text.lines();
    let which = lines.next().and_then(|l| l.parse::<usize>().ok()).unwrap_or(0) % BUILT_IN.len();
    let sets: Vec<String> = lines.take(8).map(str::to_owned).collect();
    taken(BUILT_IN[which].1, &sets);
}

fn taken(text: &str, sets: &[String]) {
    let loaded = match load_text("case.toml", text, sets) {
        Ok(loaded) => loaded,
        Err(error) => return helps(&error),
    };
    let again = load_text("case.toml", &loaded.document.to_toml(), &[]).expect("what was told back is read");
    assert_eq!(format!("{:?}", again.scenario.plan), format!("{:?}", loaded.scenario.plan), "not told back");
    let plan = &loaded.scenario.plan;
    let work = plan.work();
    if work.events > FEW_EVENTS || work.numbers() > FEW_NUMBERS {
        return;
    }
    match run(plan) {
        Ok(outcome) => {
            let off = outcome.ledger.relative_residual();
            assert!(off < 1e-9, "the books are off by {off}");
        }
        Err(error) => helps(&error.into()),
    }
}

/// A file of a station.
pub(crate) fn station(bytes: &[u8]) {
    with_file("case.toml", bytes, |path| {
        if let Err(error) = load_station(path.to_str(), &[]) {
            helps(&error);
        }
    });
}

/// A log of a tank, read in each order of dates, and fitted where it is short.
pub(crate) fn tank_log(bytes: &[u8]) {
    let loaded = tank("mixed-reef");
    with_file("log.csv", bytes, |path| {
        for order in [None, Some(DateOrder::Iso), Some(DateOrder::DayFirst), Some(DateOrder::MonthFirst)] {
            match read_tank_log(&path, &loaded.scenario.plan, &LogReading { order, ..LogReading::default() }) {
                Ok(log) => {
                    assert!(log.rows.windows(2).all(|w| w[0].time_d <= w[1].time_d), "out of order");
                    assert!(log.rows.iter().all(|r| (0.0..=36_525.0).contains(&r.time_d)), "past all time");
                }
                Err(error) => helps(&error),
            }
        }
        let log = read_tank_log(&path, &loaded.scenario.plan, &LogReading::default());
        let days = log.map_or(f64::INFINITY, |log| log.rows.last().map_or(0.0, |row| row.time_d));
        if bytes.len() < 400 && days < LONG_D {
            let request = app::FitRequest {
                log: path,
                jug: None,
                reading: LogReading::default(),
                want: None,
                kit: 0.1,
                held_out: 0.0,
                seed: 1,
            };
            if let Err(error) = fit(&loaded, &request) {
                helps(&error);
            }
        }
    });
}

/// A log of batches.
pub(crate) fn batch_log(bytes: &[u8]) {
    with_file("log.csv", bytes, |path| {
        if let Err(error) = read_batch_log(&path) {
            helps(&error);
        }
    });
}

/// A laboratory's sheet: what is taken from it is a scenario again.
pub(crate) fn lab_sheet(bytes: &[u8]) {
    let loaded = tank("mixed-reef");
    with_file("lab.csv", bytes, |path| match from_lab(&loaded, &path) {
        Ok(_) => {}
        Err(error) => helps(&error),
    });
}

/// The state that a run wrote, and the run that goes on from it.
pub(crate) fn state(bytes: &[u8]) {
    with_file("state.json", bytes, |path| match read_state(&path) {
        Ok(state) => {
            let going_on = app::load("new-tank-cycling", &["run=5 d".into()]).expect("a built-in tank");
            match run_on(&going_on, &state) {
                Ok(result) => {
                    let off = result.outcome.ledger.relative_residual();
                    assert!(off < 1e-9, "the books are off by {off}");
                }
                Err(error) => helps(&error),
            }
        }
        Err(error) => helps(&error),
    });
}

/// A file of members, merged by itself and with its own copy.
pub(crate) fn members(bytes: &[u8]) {
    let loaded = app::load("uncertain-reef", &["run=20 d".into()]).expect("a built-in tank");
    with_file("members.bin", bytes, |path| {
        for paths in [vec![path.clone()], vec![path.clone(), path]] {
            if let Err(error) = merge(&loaded, &paths, &|_| true) {
                helps(&error);
            }
        }
    });
}

/// What a page sends: a first line of its state, a second of the pinned state, the rest a file of the keeper's own.
pub(crate) fn page(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let mut parts = text.splitn(3, '\n');
    let request = ExploreRequest {
        width: 420,
        state: parts.next().unwrap_or_default().to_owned(),
        pinned: parts.next().filter(|p| !p.is_empty()).map(str::to_owned),
        text: parts.next().filter(|t| !t.is_empty()).map(str::to_owned),
        moving: true,
    };
    if let Err(error) = explore(&request, &Stop::default()) {
        helps(&error);
    }
}

/// The cases of one reader, in the order of their names.
pub(crate) fn corpus(root: &Path, name: &str) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(root.join("tests/corpus").join(name)).expect("a folder of cases");
    let mut paths: Vec<PathBuf> = entries.map(|e| e.expect("an entry").path()).collect();
    paths.sort();
    paths
}
