//! Nothing is left out without a word: each table refuses what it does not know, each key changes an answer, each key that a file
//! leaves out is told with the value taken, each column of a log counts or is named, each loss, cause and fault is everywhere that
//! its kind is told.

use std::collections::BTreeSet;

use brinecast::app::{self, Answer, AppError, BUILT_IN, Loaded, LogReading, fit, load_text, read_tank_log, run};
use brinecast::faults;
use brinecast::model::LOSSES;
use brinecast::results::Cause;
use brinecast::scenario::{keys, schema, station_keys};

use crate::cli::{brinecast, stdout};
use crate::support::{fit_request, load};

/// Tanks with what no built-in one has: a series, a fault that is written down, a room, changes by a reading, a solute of the
/// keeper's own, a leak. Invented.
const MORE: [&str; 2] = [
    r#"
format = 1
start = "2026-03-02"
run = "40 d"
[tank]
volume = "200 L"
rim = "205 L"
return_pump_needs = "180 L"
ph = 8.2
ph_scale = "nbs"
[solutes.nitrate]
start = "8 mg/L"
load = "0.5 mg/L/d"
[solutes.silver]
unit = "mg/L"
role = "contaminant"
start = "0.1 mg/L"
[solutes.alkalinity]
start = "8 dKH"
follows_nitrogen = "yes"
[solutes.ammonia]
load = "0.3 mg/L/d"
becomes = "nitrite"
conversion = "80 %/d"
[solutes.nitrite]
becomes = "nitrate"
conversion = "50 %/d"
[evaporation.room]
area = "0.5 m2"
[evaporation]
day = "8:00 to 20:00"
by_day = "65 %"
[losses]
leak = "0.1 L/d"
[reading]
every = "1 d"
[changes.by_reading]
when = "nitrate above 9 mg/L"
down_to = "8.5 mg/L"
amount = "30 %"
[series.cold]
key = "losses.skimmate"
as = "steps"
points = ["5 d: 0.4 L/d", "20 d: 0.1 L/d"]
[faults.flood]
fault = "top-off-stuck-open"
from = "2026-03-14"
to = "2026-03-15"
"#,
    r#"
format = 1
start = "2026-03-02"
run = "30 d"
[tank]
volume = "200 L"
[faults.dead]
fault = "dead-animal"
from = "2026-03-06"
to = "2026-03-07"
[solutes.ammonia]
[solutes.nitrate]
start = "8 mg/L"
load = "0.5 mg/L/d"
[reading]
every = "1 d"
[change]
when = "nitrate above 9 mg/L"
down_to = "8.5 mg/L"
"#,
];

/// The built-in tanks and those.
fn tanks() -> impl Iterator<Item = (&'static str, &'static str)> {
    BUILT_IN.iter().copied().chain(MORE.map(|text| ("one more", text)))
}

/// Names under which a scenario may have a table of its own, beside those of the built-in ones.
fn named(loaded: &Loaded, table: &str) -> Vec<String> {
    loaded.document.tables_below(table).into_iter().map(str::to_owned).collect()
}

/// The paths that a declared key has in a scenario: `NAME` stands for each name that is there.
fn paths(loaded: &Loaded, path: &str) -> Vec<String> {
    match path.split_once(".NAME") {
        None => vec![path.to_owned()],
        Some((table, rest)) => named(loaded, table).iter().map(|name| format!("{table}.{name}{rest}")).collect(),
    }
}

/// Every table of a scenario refuses a key that it does not know, by its name.
#[test]
fn no_table_takes_a_key_that_it_does_not_know() {
    let tables: BTreeSet<String> =
        keys().iter().filter_map(|k| k.path.rsplit_once('.').map(|(table, _)| table.to_owned())).collect();
    assert!(tables.len() > 15, "{tables:?}");
    for table in &tables {
        let mut tried = 0;
        for (name, text) in tanks() {
            let loaded = load(text, &[]);
            for path in paths(&loaded, table) {
                let set = format!("{path}.zzz=1");
                let refused = load_text(name, text, std::slice::from_ref(&set)).err().map(|e| e.to_string());
                let refused = refused.unwrap_or_else(|| panic!("{name}: {set} is taken"));
                assert!(refused.contains("zzz") || refused.contains("missing"), "{name}: {set}: {refused}");
                tried += 1;
            }
        }
        assert!(tried > 0 || NOT_BUILT_IN.contains(&table.as_str()), "no built-in scenario has [{table}]");
    }
    for (set, text) in [("zzz=1", BUILT_IN[0].1), ("show.nitrat=mg/L NO3-N", BUILT_IN[0].1)] {
        assert!(load_text("x.toml", text, &[set.into()]).is_err(), "{set} is taken");
    }
}

/// Tables that no built-in scenario has, each tried elsewhere.
const NOT_BUILT_IN: [&str; 0] = [];

/// What a scenario answers, without what repeats the question.
fn answer(loaded: &Loaded) -> Result<String, AppError> {
    let result = run(loaded)?;
    let mut told = serde_json::to_value(result.data()).unwrap();
    for key in ["overrides", "checksum", "defaults", "scenario", "start"] {
        told.as_object_mut().unwrap().remove(key);
    }
    let report = result.text(loaded, 80);
    Ok(format!("{told}\n{report}"))
}

/// Another value than the one given or taken: of the same kind, still one that a keeper would write.
fn others(key: &brinecast::scenario::KeyInfo, now: Option<&str>) -> Vec<String> {
    let mut list: Vec<String> = key.choices.clone();
    list.push(key.example.clone());
    list.extend(OWN.iter().filter(|(path, _)| *path == key.path).map(|(_, value)| (*value).to_owned()));
    list.extend(now.into_iter().flat_map(scaled));
    list.extend(scaled(&key.example));
    list
}

/// A value made larger and smaller, its unit kept.
fn scaled(text: &str) -> Vec<String> {
    let Ok((number, unit)) = brinecast::units::number_with_unit(text) else { return Vec::new() };
    [0.5, 0.97, 1.03, 2.0].iter().map(|by| format!("{} {unit}", number * by).trim().to_owned()).collect()
}

/// Keys whose values no override can write, each with where it is tested.
const ELSEWHERE: [&str; 2] = [
    // suite/series.rs
    "series.NAME.file",
    // suite/series.rs, against lines
    "evaporation.table",
];

/// Values of keys whose example means nothing in the tanks here.
const OWN: [(&str, &str); 3] = [
    ("series.NAME.key", "losses.salt_creep"),
    ("series.NAME.points", "[5 d: 0.3 L/d, 20 d: 0.1 L/d]"),
    ("faults.NAME.from", "2026-03-13"),
];

/// Each key, set to some other value on some built-in tank, changes the answer of a run or the page of it.
#[test]
fn each_key_changes_an_answer() {
    let tanks: Vec<(&str, Loaded)> = tanks().map(|(name, text)| (name, load(text, &["run=40 d"]))).collect();
    let before: Vec<String> = tanks.iter().map(|(_, loaded)| answer(loaded).unwrap()).collect();
    let mut silent = Vec::new();
    for key in keys() {
        let changes = |(k, (_, loaded)): (usize, &(&str, Loaded))| {
            paths(loaded, &key.path).iter().any(|path| {
                others(&key, loaded.document.given(path).as_deref()).iter().any(|value| {
                    let with = loaded.with(&[format!("{path}={value}")]);
                    with.is_ok_and(|with| answer(&with).is_ok_and(|after| after != before[k]))
                })
            })
        };
        if !tanks.iter().enumerate().any(changes) && !ELSEWHERE.contains(&key.path.as_str()) {
            silent.push(key.path.clone());
        }
    }
    assert!(silent.is_empty(), "no value of these changes anything: {silent:?}");
}

/// A scenario without one of its keys is refused, or means the same, or tells the value that it took.
#[test]
fn a_key_that_is_left_out_is_told() {
    let (mut count, mut silent) = (0, BTreeSet::<String>::new());
    for (name, text) in BUILT_IN {
        let with = load(text, &[]);
        let table: toml::Table = text.parse().unwrap();
        let mut leaves = Vec::new();
        walk(&table, "", &mut leaves);
        for path in leaves {
            let mut less = table.clone();
            assert!(take(&mut less, &path));
            let text = toml::to_string(&less).unwrap();
            let Ok(without) = load_text(name, &text, &[]) else { continue };
            count += 1;
            let same = format!("{:?}", without.scenario.plan) == format!("{:?}", with.scenario.plan);
            let table_of = path.rsplit_once('.').map_or("", |(table, _)| table);
            let last = path.rsplit('.').next().unwrap();
            let told = without.scenario.defaults.iter().any(|d| {
                let instead = INSTEAD.iter().any(|(left, said)| last == *left && d.key == format!("{table_of}.{said}"));
                // What the mix no longer brings is told of the water that is made with it.
                let of_the_water =
                    table_of == "mix" && d.key.starts_with("waters.") && d.key.ends_with(&format!(".{last}"));
                d.key == path || instead || of_the_water
            });
            let warned = |of: &Loaded| {
                run(of).map(|r| r.data().warnings.iter().map(|w| w.code.clone()).collect::<BTreeSet<_>>())
            };
            let told = told
                || warned(&without)
                    .ok()
                    .is_none_or(|after| warned(&with).is_ok_and(|before| !after.is_subset(&before)));
            if !(same || told || MEANS_NONE.iter().any(|table| path.starts_with(table))) {
                silent.insert(format!("{name} {path}"));
            }
        }
    }
    assert!(silent.is_empty(), "taken without a word: {silent:#?}");
    assert!(count > 150, "{count}");
}

/// One way of saying a thing, left out, is another that is told.
const INSTEAD: [(&str, &str); 3] = [("table", "rate"), ("on", "every"), ("dates", "every")];
/// Keys whose absence means that there is none of it, or that it is as it is outside the period.
const MEANS_NONE: [&str; 4] = ["bands.", "periods.", "costs.", "evaporation.swing"];

fn walk(table: &toml::Table, prefix: &str, out: &mut Vec<String>) {
    for (key, value) in table {
        let path = format!("{prefix}{key}");
        match value {
            toml::Value::Table(below) => walk(below, &format!("{path}."), out),
            _ => out.push(path),
        }
    }
}

fn take(table: &mut toml::Table, path: &str) -> bool {
    match path.split_once('.') {
        None => table.remove(path).is_some(),
        Some((first, rest)) => table.get_mut(first).and_then(|t| t.as_table_mut()).is_some_and(|t| take(t, rest)),
    }
}

/// Each cause of the ledger moves salt, water or a solute in some tank, and then stands in the ledger, and where it moves salt in
/// the drift by its words.
#[test]
fn each_cause_is_told_where_it_acts() {
    let mut seen = BTreeSet::new();
    for (_, text) in tanks() {
        let loaded = load(text, &["run=90 d"]);
        let result = run(&loaded).unwrap();
        let ledger = result.tables(&loaded).unwrap().into_iter().find(|(n, _)| n == "ledger.csv").unwrap().1;
        let ledger = String::from_utf8(ledger).unwrap();
        for cause in Cause::ALL {
            if ledger.lines().any(|l| l.split(',').any(|cell| cell == cause.key())) {
                seen.insert(cause.key());
            }
        }
    }
    let missing: Vec<_> = Cause::ALL.iter().map(|c| c.key()).filter(|k| !seen.contains(k)).collect();
    assert!(missing.is_empty(), "no built-in ledger has {missing:?}");
}

/// Each loss has a key, stands in the schema, in the guide, and in the drift of a tank that has it.
#[test]
fn each_loss_is_told_everywhere() {
    let known = keys();
    let schema = schema().to_string();
    let guide = guide();
    for loss in LOSSES {
        let path = format!("losses.{}", loss.key);
        let key = known.iter().find(|k| k.path == path).unwrap_or_else(|| panic!("{path} is no key"));
        assert!(schema.contains(&format!("\"{}\"", loss.key)), "{path} is not in the schema");
        assert!(guide.contains(&path) || guide.contains(&loss.key.replace('_', " ")), "{path} is not in the guide");
        let page = page_of(&format!("mixed-reef&{path}={}", key.example));
        let knob = format!("\"key\":\"{path}\"");
        assert!(page.contains(&knob), "{path} is no knob: {page}");
        let loaded = app::load("mixed-reef", &[format!("{path}={}", key.example), "run=60 d".into()]).unwrap();
        let result = run(&loaded).unwrap();
        let drift = serde_json::to_string(&result.data().drift).unwrap();
        let words = loss.cause.drift();
        assert!(drift.contains(words), "{path}: no drift by {words}: {drift}");
        assert!(result.text(&loaded, 80).contains(words), "{path}: not told");
    }
}

fn guide() -> String {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("src/guide");
    let files = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "md"));
    files.map(|p| std::fs::read_to_string(p).unwrap()).collect()
}

fn page_of(name: &str) -> String {
    let request = app::ExploreRequest { width: 420, state: format!("from={name}"), ..app::ExploreRequest::default() };
    serde_json::to_string(&app::explore(&request, &brinecast::model::Stop::default()).unwrap()).unwrap()
}

/// Each fault is listed, explained in the guide's list, on the page of a tank on which it can happen, in the table of `faults`, and
/// named by a run that has it.
#[test]
fn each_fault_is_told_everywhere() {
    let folder = tempfile::tempdir().unwrap();
    let listed = stdout(&brinecast(folder.path(), &["list", "faults"]));
    let mut never = Vec::new();
    for fault in faults::all(1.0) {
        assert!(listed.contains(fault.key()), "{} is not listed", fault.key());
        let mut told = false;
        for (name, _) in BUILT_IN {
            let loaded = app::load(name, &["run=60 d".into()]).unwrap();
            if fault.cannot(&loaded.scenario.plan).is_some() {
                continue;
            }
            assert!(page_of(name).contains(fault.key()), "{} is not on the page of {name}", fault.key());
            let args = [
                "run",
                name,
                "--set",
                "run=60 d",
                "--fault",
                fault.key(),
                "--from",
                "20 d",
                "--no-files",
                "--format",
                "json",
            ];
            let json = stdout(&brinecast(folder.path(), &args));
            assert!(
                json.contains(&fault.title().to_lowercase())
                    || json.contains(fault.key())
                    || json.contains(&fault.key().replace('-', " ")),
                "{}: {json}",
                fault.key()
            );
            told = true;
            break;
        }
        if !told {
            never.push(fault.key());
        }
    }
    assert!(never.is_empty(), "no built-in tank has {never:?}");
}

/// A log with every column that is known; leaving one out changes what is learned or what is said.
#[test]
fn each_column_of_a_log_counts_or_is_named() {
    let loaded = app::load("mixed-reef", &[]).unwrap();
    let header = "date,time,salinity_psu,nitrate_mg_per_L,top_off_L,change_L,batch_psu,salt_added_g,note";
    let rows = [
        "2026-03-02,09:00,35.0,8.0,,,,,start",
        "2026-03-07,10:00,34.9,9.1,26,40,35,,weekly",
        "2026-03-14,10:00,34.8,9.9,37,40,34,,weekly",
        "2026-03-21,10:00,34.7,10.7,38,40,35,100,weekly",
        "2026-03-28,10:00,34.8,11.3,38,40,35,,weekly",
        "2026-04-04,10:00,34.7,11.9,37,40,34,,weekly",
        "2026-04-11,10:00,34.6,12.2,38,40,35,,weekly",
    ];
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.csv");
    let write = |without: Option<usize>| {
        let cut = |line: &str| -> String {
            let cells: Vec<&str> =
                line.split(',').enumerate().filter(|(k, _)| Some(*k) != without).map(|(_, c)| c).collect();
            cells.join(",")
        };
        let lines: Vec<String> = std::iter::once(header).chain(rows).map(cut).collect();
        std::fs::write(&path, lines.join("\n") + "\n").unwrap();
    };
    let learned = || -> Result<String, AppError> {
        let log = read_tank_log(&path, &loaded.scenario.plan, &LogReading::default())?;
        let told = fit(&loaded, &fit_request(path.clone()))?;
        Ok(log.words() + &told.text(&loaded, 80))
    };
    write(None);
    let all = learned().unwrap();
    for (k, column) in header.split(',').enumerate() {
        write(Some(k));
        match learned() {
            Err(error) => assert!(error.to_string().starts_with("error: "), "{column}"),
            Ok(less) => assert!(less != all || column == "note", "without {column} nothing is said"),
        }
    }
}

/// Each optional key of a station that takes a value is declared with what is taken without it.
#[test]
fn each_key_says_what_is_taken_without_it() {
    for key in keys().into_iter().chain(station_keys()) {
        assert!(!key.doc.is_empty() && !key.example.is_empty() && !key.kind.is_empty(), "{key:?}");
    }
}
