//! The value that does it: against closed forms, and against bisection over whole runs.

use brinecast::app::{SolveAnswer, run, solve};

use crate::support::{GO, STILL, load, near};

/// Constant volume, 0.5 mg/L a day and nothing that takes it out but the change: the settled peak is p T/f.
fn saw_tooth() -> String {
    format!(
        "{STILL}\n[bands]\nnitrate = \"below 25 mg/L\"\n[solutes.nitrate]\nstart = \"17 mg/L\"\nload = \"0.5 mg/L/d\"\n[change]\namount = \"20 %\"\nevery = \"7 d\"\n"
    )
}

fn answer(text: &str, sets: &[&str], key: &str, goal: &str) -> SolveAnswer {
    solve(&load(text, sets), key, goal, GO).unwrap().answer
}

/// The share at which p T/f is 12 mg/L is 3.5/12; a band of 25 mg/L is kept from 3.5/25 on, or up to 10 d at 20 %.
#[test]
fn what_is_found_is_the_closed_form() {
    let a = answer(&saw_tooth(), &[], "change.amount", "settled.nitrate.peak = 12 mg/L");
    near(a.met[0].value, 100.0 * 3.5 / 12.0, 1e-6, "share");
    assert_eq!((a.met.len(), a.met[0].written.as_str()), (1, "29.17 %"));
    // One percent more of the share is one percent less of the peak.
    near(a.met[0].for_a_percent_more.unwrap(), 12.0 / 1.01 - 12.0, 1e-6, "slope");
    let a = answer(&saw_tooth(), &[], "change.amount", "bands kept");
    near(a.met[0].value, 14.0, 1e-6, "least share");
    near(a.kept[0][0], 14.0, 1e-6, "kept from");
    assert!(a.met[0].as_written.unwrap() <= 100.0 && a.answer.contains("14 % or more"), "{}", a.answer);
    let a = answer(&saw_tooth(), &[], "change.every=3d..28d", "nitrate kept");
    near(a.met[0].value, 10.0, 1e-6, "longest interval");
    assert!(a.answer.contains("10 d or less"), "{}", a.answer);
    // In another unit, another root: mg/L of nitrogen.
    let a = answer(&saw_tooth(), &[], "solutes.nitrate.load", "settled.nitrate.peak = 5 mg/L NO3-N");
    near(a.met[0].value, 0.2 / 7.0 * 5.0 * 62.0049 / 14.0067, 1e-4, "load");
}

/// A measure of a run: bisection over whole runs, by itself, comes to the same value.
#[test]
fn what_is_found_is_that_of_bisection_over_runs() {
    let sets = ["run=40 d", "solutes.nitrate.removal=2 %/d", "evaporation.rate=3 L/d"];
    let a = answer(&saw_tooth(), &sets, "change.amount=5%..60%", "nitrate.end = 14 mg/L");
    let end = |share: f64| {
        let set = format!("change.amount={share} %");
        let result = run(&load(&saw_tooth(), &[&sets[..], &[&set]].concat())).unwrap();
        *result.outcome.trace.solutes[0].last().unwrap()
    };
    let (mut low, mut high) = (5.0, 60.0);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if end(middle) > 14.0 { low = middle } else { high = middle }
    }
    near(a.met[0].value, low, 1e-5, "by bisection");
}

/// None, several and what cannot be are said.
#[test]
fn none_several_and_mistakes_are_said() {
    let a = answer(&saw_tooth(), &[], "change.amount=5%..60%", "settled.nitrate.peak = 2 mg/L");
    assert!(a.met.is_empty() && a.answer.starts_with("No change.amount from 5 % to 60 %"), "{}", a.answer);
    // Litres go in steps with the interval: 28 d hold 4, 3, 2 or 1 changes, and none of that makes 100 L of 80 L each.
    let a = answer(&saw_tooth(), &["run=28.5 d"], "change.every=6d..30d", "litres = 200 L");
    assert!(a.met.is_empty() && !a.jumps.is_empty() && a.answer.starts_with("No whole number of days"), "{a:?}");
    // What is mixed too weak or too strong leaves its band at either edge: two values, and what is between is kept.
    let band = ["bands.salinity=34 to 36 psu"];
    let a = answer(&saw_tooth(), &band, "waters.salt_water.salinity=30psu..40psu", "salinity kept");
    assert_eq!(a.met.len(), 2, "{a:?}");
    near(a.kept[0][0], 34.0, 1e-6, "weakest");
    near(a.kept[0][1], 36.0, 1e-6, "strongest");
    let wrong = |key: &str, goal: &str| solve(&load(&saw_tooth(), &[]), key, goal, GO).unwrap_err().to_string();
    for (key, goal, piece) in [
        ("change.amount", "settled.nitrate.peak = 12", "has no unit: write 12 mg/L"),
        ("change.amount", "settled.nitrate.peak", "it has no `=`"),
        ("change.amount", "phosphate kept", "there is no such band"),
        ("change.amount", "settled.iodine.peak = 1 mg/L", "not tracked"),
        ("losses.leak", "bands kept", "gives no value to look around"),
        ("change.amuont=5%..10%", "bands kept", "change.amuont"),
    ] {
        let message = wrong(key, goal);
        assert!(message.contains(piece), "{key}, {goal}: {message}");
    }
}

/// A measure that meets its target throughout a range is told as a range: no day outside its band from the share on that keeps it.
#[test]
fn a_plateau_is_a_range() {
    let sets = ["run=400 d", "bands.nitrate=below 25 mg/L"];
    let a = answer(&saw_tooth(), &sets, "change.amount=10%..60%", "outside.nitrate = 0 d");
    assert!(a.met.is_empty() && a.kept.len() == 1, "{a:?}");
    // The peak of a run that starts lower is that of the settled cycle at its end: 3.5/25 = 14 %.
    near(a.kept[0][0], 14.0, 2e-3, "from");
    near(a.kept[0][1], 60.0, 1e-9, "to");
}
