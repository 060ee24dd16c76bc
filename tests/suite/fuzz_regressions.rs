//! What fuzzing found, each by name, so that it stays mended. All inputs are invented.

use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use brinecast::app::{EnsembleRequest, LogReading, load_text, merge, read_tank_log};
use brinecast::engine::{SettleError, settle};
use brinecast::scenario::Document;
use brinecast::solutes::{find, parse_amount, parse_concentration, parse_load};
use brinecast::study::{KeyRange, Spread, Uncertainty};

use crate::cli::{brinecast, stderr};
use crate::support::{GO, STILL, last, load, near, simulate};

fn refusal(text: &str) -> String {
    load_text("find.toml", text, &[]).map(|_| ()).expect_err("it was taken").to_string()
}

/// Values and factors were each fine and their product infinite: concentrations, shares of a volume, minutes, prices.
#[test]
fn numbers_past_all_measure_are_refused_where_they_stand() {
    let nitrate = find("nitrate").unwrap();
    for error in [
        parse_concentration(nitrate, "1e308 g/L").unwrap_err(),
        parse_amount(nitrate, "1e308 t").unwrap_err(),
        parse_load(nitrate, "1e308 g/L/s").unwrap_err(),
    ] {
        assert!(error.to_string().contains("not a finite number of at most 1e15"), "{error}");
    }
    for (lines, place) in [
        ("[costs]\nsalt = \"1e308 EUR/mg\"\n", "12:8"),
        ("[costs]\nper_change = \"1e305 year\"\n", "12:14"),
        ("[exchange]\nout = \"1e307 %/d\"\n", "12:7"),
        ("[solutes.nitrate]\nload = \"1e300 g/L/s\"\n", "12:8"),
    ] {
        let message = refusal(&(STILL.to_owned() + lines));
        assert!(message.contains(&format!("find.toml:{place}")) && message.contains("at most 1e15"), "{message}");
    }
}

/// A text that is no TOML had its place, but nothing to do.
#[test]
fn a_syntax_error_says_what_to_write() {
    for (text, piece) in [
        ("format", "example: volume"),
        ("format = 1\nformat = 1\n", "a key or table stands once"),
        (&"[".repeat(4000), "example: volume"),
    ] {
        let message = refusal(text);
        assert!(message.contains("find.toml:") && message.contains("help: ") && message.contains(piece), "{message}");
    }
}

/// Each mistake is shown with its line, so 80 000 of them took a minute and 18 MB of text.
#[test]
fn a_file_of_nothing_but_mistakes_is_answered_at_once_and_in_short() {
    let keys = (0..50_000).map(|k| format!("k{k} = 1")).collect::<Vec<_>>().join("\n");
    let begin = Instant::now();
    let message = refusal(&keys);
    assert!(message.len() < 40_000, "{} bytes", message.len());
    assert!(message.contains("more mistakes are not shown: mend these first"), "{message}");
    // a second on a slow machine; it was a minute on a fast one
    assert!(begin.elapsed() < Duration::from_secs(20), "{:?}", begin.elapsed());
    let long = refusal(&format!("format = 1\n[tank]\nvolume = \"400 {}\"\n", "x".repeat(500_000)));
    assert!(long.len() < 4000 && long.contains("use one of L, mL"), "{} bytes", long.len());
}

/// An override of 60 000 parts ran out of stack where the reader's own thread was a small one.
#[test]
fn an_override_of_many_parts_is_refused() {
    let mut document = Document::parse("deep.toml", STILL).unwrap();
    let error = document.set(&format!("{}=1", vec!["a"; 60_000].join("."))).unwrap_err().to_string();
    assert!(error.contains("60000 key parts") && error.contains("change.every"), "{error}");
    assert!(error.len() < 300, "{error}");
}

/// A year written 2962 for 2026 made the fit walk through nine hundred years.
#[test]
fn a_log_that_spans_centuries_is_refused_with_its_lines() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.csv");
    let plan = brinecast::app::load("mixed-reef", &[]).unwrap().scenario.plan;
    for (text, lines) in [
        ("date,salinity_psu\n2026-03-01,35\n2962-03-08,35\n2026-03-15,35\n", "from line 2 to line 3"),
        ("time_d,salinity_psu\n0,35\n1e300,35\n", "from line 2 to line 3"),
        ("time_d,salinity_psu\n7,35\n-1e300,35\n", "from line 3 to line 2"),
    ] {
        fs::write(&path, text).unwrap();
        let message = read_tank_log(&path, &plan, &LogReading::default()).unwrap_err().to_string();
        assert!(message.contains(lines) && message.contains("one of the dates is wrong"), "{message}");
    }
}

/// What is learned from a log is learned anew after each row, so half a million rows took hours.
#[test]
fn a_log_of_more_rows_than_a_life_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.csv");
    fs::write(&path, "fresh_L,salt_g,salinity_psu\n".to_owned() + &"60,2500,34.6\n".repeat(20_001)).unwrap();
    let message = brinecast::app::read_batch_log(&path).unwrap_err().to_string();
    assert!(message.contains("more than 20000 rows: keep the latest"), "{message}");
}

/// Ends far apart made infinite steps, and a small number was written as 0.
#[test]
fn a_range_keeps_small_numbers_and_refuses_ends_past_all_measure() {
    assert_eq!(KeyRange::parse("a=1e-12 kg,3e-12 kg").unwrap().values[1], "0.000000000003 kg");
    let error = KeyRange::parse("change.every=-1e308..1e308 d").unwrap_err().to_string();
    assert!(error.contains("at most 1e15"), "{error}");
}

/// The head of a file of members said how much room to make, and was believed.
#[test]
fn a_file_of_members_that_promises_too_much_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let loaded = load_text("small.toml", STILL, &["run=5 d".into()]).unwrap();
    let uncertainty = Uncertainty {
        spreads: vec![Spread::parse("evaporation.rate=uniform(1 L/d, 2 L/d)").unwrap()],
        ..Uncertainty::default()
    };
    let request = EnsembleRequest { uncertainty, seed: 1, members: 0..10, until_error: None };
    let (_, path) = crate::support::kept_members(&loaded, &request, folder.path()).unwrap();
    let whole = fs::read(&path).unwrap();
    assert!(merge(&loaded, std::slice::from_ref(&path), GO).is_ok());
    let head = whole.iter().enumerate().filter(|(_, b)| **b == b'\n').nth(1).unwrap().0;
    let words = String::from_utf8(whole[..head].to_vec()).unwrap();
    for (from, to) in
        [("[0,10]", "[0,18446744073709551615]"), ("[0,10]", "[0,4000000000]"), ("\"rows\":6", "\"rows\":7")]
    {
        assert!(words.contains(from), "{words}");
        fs::write(&path, [words.replace(from, to).as_bytes(), &whole[head..]].concat()).unwrap();
        let message = merge(&loaded, std::slice::from_ref(&path), GO).unwrap_err().to_string();
        assert!(message.contains("not what its head says"), "{message}");
    }
    fs::write(&path, &whole[..whole.len() - 1]).unwrap();
    assert!(merge(&loaded, std::slice::from_ref(&path), GO).unwrap_err().to_string().contains("cut off"));
}

/// A batch of 1e300 L takes longer than the calendar lasts, and the clock panicked.
#[test]
fn a_batch_past_all_vessels_and_a_plan_past_the_calendar_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    refused(folder.path(), &["batch", "--finished", "1e14 L", "--ready-by", "2026-03-07 10:00"], "at most 10000000 L");
    refused(folder.path(), &["plan", "--set", "start=9999-12-30"], "outside the calendar");
}

/// More than 700 volumes of a tank between two events made 0 times infinity, and the answer was that every band is kept.
#[test]
fn hundreds_of_volumes_may_pass_between_two_events() {
    let flows = ["run=365 d", "output=events", "exchange.out=4000 L/d", "waters.salt_water.nitrate=2 mg/L"];
    let text = STILL.to_owned() + "[exchange]\nout = \"1 L/d\"\n[solutes.nitrate]\nstart = \"50 mg/L\"\n";
    let (_, outcome) = simulate(&text, &flows);
    near(last(&outcome.trace.solutes[0]), 2.0, 1e-12, "the new water's nitrate");
    near(last(&outcome.trace.salinity_psu), 35.0, 1e-12, "the new water's salinity");
    // and where the level falls or rises meanwhile
    for inflow in ["exchange.in=3999.5 L/d", "exchange.in=4000.5 L/d"] {
        let (_, outcome) = simulate(&text, &[&flows[..], &[inflow, "top_off.by=none"]].concat());
        near(last(&outcome.trace.solutes[0]), 2.0, 1e-9, inflow);
        assert!(outcome.ledger.relative_residual() < 1e-12);
    }
    let message = refusal(&(STILL.to_owned() + "[exchange]\nout = \"4e9 L/d\"\n"));
    assert!(message.contains("find.toml:12:7") && message.contains("1000 times the 400 L"), "{message}");
}

/// A reservoir filled every 1e-14 d kept the clock from moving on.
#[test]
fn a_reservoir_filled_without_end_is_refused() {
    for interval in ["1e-14 d", "9 min", "10 s"] {
        let text =
            STILL.replace("by = \"float\"", &format!("by = \"float\"\nreservoir = \"9 L\"\nrefill = \"{interval}\""));
        let message = refusal(&text);
        assert!(message.contains("10 min or more"), "{message}");
    }
}

/// The common cycle of two intervals, one of them huge, overflowed.
#[test]
fn intervals_without_a_common_cycle_are_an_answer() {
    let text = STILL.to_owned() + "[change]\nevery = \"7 d\"\n[doses.a]\nof = \"salt\"\namount = \"1 g\"\n";
    for every in ["doses.a.every=6.7e12 d", "doses.a.every=401 d", "doses.a.every=1.37 h"] {
        let settled = settle(&load(&text, &[every]).scenario.plan);
        assert!(matches!(settled, Err(SettleError::TooLong | SettleError::NotPeriodic(_))), "{every}: {settled:?}");
    }
}

/// Two dozen solutes alike kept an iteration for eigenvalues from ending; they can be read off.
#[test]
fn many_solutes_alike_have_a_settled_cycle() {
    let mut text = STILL.to_owned() + "[change]\namount = \"10 %\"\nevery = \"7 d\"\n";
    for i in 0..60 {
        text += &format!("[solutes.s{i}]\nunit = \"mg/L\"\nload = \"0.01 mg/L/d\"\n");
    }
    let settled = settle(&load(&text, &[]).scenario.plan).unwrap();
    // each week keeps nine tenths
    near(settled.half_life_d.unwrap(), 7.0 * 0.5f64.ln() / 0.9f64.ln(), 1e-9, "half-life");
    near(settled.solutes[59].peak, 0.7, 1e-9, "peak");
}

/// What is made of nitrate grew until it was its uptake, and rounding sent it back to zero without end.
#[test]
fn an_uptake_that_is_met_to_the_last_digit_is_passed() {
    for share in ["1.8974606637320892 %/d", "10 %/d", "1.9 %/d"] {
        let conversion = format!("solutes.nitrite.conversion={share}");
        let loaded = brinecast::app::load("new-tank-cycling", &[conversion]).unwrap();
        let outcome = brinecast::engine::run(&loaded.scenario.plan).unwrap();
        let nitrate = &outcome.trace.solutes[2];
        assert!(nitrate.iter().all(|v| *v >= -1e-12) && last(nitrate) > 0.0, "{share}");
        assert!(outcome.ledger.relative_residual() < 1e-12, "{share}");
    }
}

/// In a tank that loses no water, a fast chain left 2e-11 of what it turned over in the books.
#[test]
fn the_books_of_a_fast_chain_close_where_no_water_leaves() {
    let text = STILL.to_owned()
        + "[solutes.nitrate]\nstart = \"30 mg/L\"\n[solutes.nitrite]\nstart = \"0.05 mg/L\"\nbecomes = \"nitrate\"\n\
           conversion = \"1500 %/d\"\n[solutes.ammonia]\nload = \"4 g/d\"\nbecomes = \"nitrite\"\nconversion = \"30000 %/d\"\n";
    let (_, outcome) = simulate(&text, &["run=40 d"]);
    let residual = outcome.ledger.relative_residual();
    assert!(residual < 1e-13, "{residual:e}");
    // the closed form of the first: load over rate
    near(last(&outcome.trace.solutes[2]), 10.0 / 300.0, 1e-10, "ammonia");
}

fn refused(folder: &Path, args: &[&str], piece: &str) {
    let output = brinecast(folder, args);
    let message = stderr(&output);
    assert_eq!(output.status.code(), Some(2), "{args:?}: {message}");
    assert!(message.lines().any(|l| l.starts_with("error: ")) && message.contains(piece), "{args:?}: {message}");
}
